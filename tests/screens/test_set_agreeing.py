"""Experts' readings side by side: how far they agree, what they part on, and one key put together from them."""

from datetime import UTC, datetime

import pytest

from records.key.expert_keys import ExpertKey, ExpertKeys
from rubric.answers import Answer, KeyAnswer, Phase, ReferenceKey, View
from rubric.checklist import shipped_checklist
from screens.sets.agreeing import (
    agreement_line,
    given_up,
    key_from_experts,
    panel_of,
    panel_of_one,
    points_from_experts,
)
from vision.landmarks import LandmarkSet, Point, Visibility

CHECKLIST = shipped_checklist()
SEEN, NOT = Answer.SEEN, Answer.NOT_SEEN


def reading(expert: str, answers: dict[str, Answer], *, view: View = View.SIDE, whys: str = "") -> ExpertKey:
    key = ReferenceKey(
        phase=Phase.AT_BREAST,
        view=view,
        answers={name: KeyAnswer(answer=answer, why=whys) for name, answer in answers.items()},
    )
    return ExpertKey(
        expert_id=expert * 32,
        expert=expert,
        key=key,
        landmarks=LandmarkSet(),
        revision=1,
        set_at=datetime(2030, 1, 1, tzinfo=UTC),
    )


def photo(*keys: ExpertKey) -> ExpertKeys:
    return ExpertKeys(photo_id="p", mine=None, n_experts=len(keys), all=keys, opened=True)


def test_signs_that_no_photo_shows_stay_out() -> None:
    ask = CHECKLIST.ask_items()[0].id
    both = {ask: SEEN, "close": SEEN}
    panel = panel_of_one([reading("a", both), reading("b", both)], CHECKLIST)
    assert [item.item for item in panel.items] == ["close"]


def test_a_sign_is_parted_where_answers_differ_and_a_blank_is_no_answer() -> None:
    keys = [reading("a", {"close": SEEN, "lips_out": SEEN}), reading("b", {"close": NOT})]
    agreed = {item.item: item.agreed for item in panel_of_one(keys, CHECKLIST).items}
    assert agreed == {"close": False, "lips_out": True}


def test_the_line_tells_how_often_experts_agree_and_with_chance_taken_out() -> None:
    # Of 4 answers 3 agree. Margins a: 2 seen 2 not, b: 3 seen 1 not: expected .5; kappa = (.75 - .5) / (1 - .5) = .5.
    first = photo(
        reading("a", {"close": SEEN, "supported": SEEN, "body_line": NOT, "lips_out": NOT}),
        reading("b", {"close": SEEN, "supported": SEEN, "body_line": NOT, "lips_out": SEEN}),
    )
    found = panel_of([first, photo(reading("a", {"close": SEEN}))], CHECKLIST)
    assert found is not None
    assert found.percent.value == pytest.approx(0.75)
    line = agreement_line(found)
    assert line.startswith("On 1 photo with two or more readings the experts agree in 75 % of 4 answers")
    assert "Cohen's kappa 0.50" in line


def test_experts_may_have_read_different_photos() -> None:
    one = ExpertKeys(
        photo_id="q",
        mine=None,
        n_experts=2,
        all=(reading("b", {"close": NOT, "lips_out": SEEN}), reading("c", {"close": NOT, "lips_out": NOT})),
        opened=True,
    )
    both = {"close": SEEN, "lips_out": NOT}
    found = panel_of([photo(reading("a", both), reading("b", both)), one], CHECKLIST)
    assert found is not None
    assert found.experts == ("a", "b", "c")
    assert found.percent.value == pytest.approx(0.75)
    assert found.disputed == {"p": frozenset(), "q": frozenset({"lips_out"})}


def test_nothing_is_said_of_photos_with_one_reading_or_readings_that_may_not_be_seen() -> None:
    hidden = ExpertKeys(photo_id="p", mine=None, n_experts=2, all=(), opened=False)
    assert panel_of([hidden, photo(reading("a", {"close": SEEN}))], CHECKLIST) is None


def test_kappa_without_variation_is_told_as_undefined_and_not_as_a_number() -> None:
    same = photo(reading("a", {"close": SEEN, "supported": SEEN}), reading("b", {"close": SEEN, "supported": SEEN}))
    found = panel_of([same], CHECKLIST)
    assert found is not None
    assert "kappa is not defined here (no variation" in agreement_line(found)


def test_a_key_from_experts_keeps_what_all_say_and_tells_who_gives_up_what() -> None:
    keys = [
        reading("a", {"close": SEEN, "supported": SEEN}, whys="the arm lies close"),
        reading("b", {"close": SEEN, "supported": NOT}, whys="no light between"),
        reading("c", {"close": SEEN}, view=View.OBLIQUE),
    ]
    key, _ = key_from_experts(keys)
    assert (key.phase, key.view) == (Phase.AT_BREAST, View.SIDE)
    assert set(key.answers) == {"close"}
    assert key.answers["close"].answer == SEEN
    assert "no light between" in key.answers["close"].why
    changes = [(one.expert, one.item, one.own, one.consensus) for one in given_up(keys)]
    assert changes == [("a", "supported", SEEN, None), ("b", "supported", NOT, None)]
    with pytest.raises(ValueError, match="two or more"):
        key_from_experts(keys[:1])


def test_points_lie_in_the_middle_of_where_two_or_more_put_them() -> None:
    first = LandmarkSet(points={"chin": Point(x=10, y=20), "ear": Point(x=1, y=1), "hip": Point(x=5, y=5)})
    second = LandmarkSet(points={"chin": Point(x=14, y=22), "hip": Point(x=7, y=5, visibility=Visibility.HIDDEN)})
    third = LandmarkSet(points={"hip": Point(x=9, y=8, visibility=Visibility.HIDDEN)})
    found = points_from_experts([first, second, third])
    assert set(found.points) == {"chin", "hip"}
    assert found.points["chin"] == Point(x=12, y=21, by="reference")
    assert found.points["hip"] == Point(x=7, y=6, visibility=Visibility.HIDDEN, by="reference")
    assert points_from_experts([]) == LandmarkSet()
