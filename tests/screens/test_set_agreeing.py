"""Experts' readings side by side: how far they agree, what they part on, and one key put together from them."""

from datetime import UTC, datetime

import pytest

from records.expert_keys import ExpertKey, ExpertKeys
from rubric.answers import Answer, KeyAnswer, Phase, ReferenceKey, Settles, View
from rubric.checklist import shipped_checklist
from screens.agreeing import (
    agreement_line,
    key_from_experts,
    points_from_experts,
    readings_by_sign,
    set_agreement,
)
from vision.landmarks import LandmarkSet, Point, Visibility

CHECKLIST = shipped_checklist()
SEEN, NOT, CANT = Answer.SEEN, Answer.NOT_SEEN, Answer.CANT_TELL


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
    signs = readings_by_sign([reading("a", both), reading("b", both)], CHECKLIST)
    assert [sign.item.id for sign in signs] == ["close"]


def test_a_sign_is_parted_where_answers_differ_and_a_blank_is_no_answer() -> None:
    keys = [reading("a", {"close": SEEN, "lips_out": SEEN}), reading("b", {"close": NOT})]
    parted = {sign.item.id: sign.parted for sign in readings_by_sign(keys, CHECKLIST)}
    assert parted == {"close": True, "lips_out": False}


def test_two_experts_get_percent_agreement_and_cohens_kappa() -> None:
    # Of 4 answers 3 agree. Margins a: 2 seen 2 not, b: 3 seen 1 not: expected .5; kappa = (.75 - .5) / (1 - .5) = .5.
    first = photo(
        reading("a", {"close": SEEN, "supported": SEEN, "body_line": NOT, "lips_out": NOT}),
        reading("b", {"close": SEEN, "supported": SEEN, "body_line": NOT, "lips_out": SEEN}),
    )
    found = set_agreement([first, photo(reading("a", {"close": SEEN}))], CHECKLIST)
    assert found is not None
    assert (found.n_photos, found.name) == (1, "Cohen's kappa")
    assert found.percent.value == pytest.approx(0.75)
    assert found.chance_corrected.value == pytest.approx(0.5)
    assert agreement_line(found).startswith(
        "On 1 photo with two or more readings the experts agree in 75 % of 4 answers"
    )
    assert "0.50" in agreement_line(found)


def test_three_experts_get_krippendorffs_alpha_and_may_have_read_different_photos() -> None:
    found = set_agreement(
        [
            photo(reading("a", {"close": SEEN, "lips_out": NOT}), reading("b", {"close": SEEN, "lips_out": NOT})),
            photo(reading("b", {"close": NOT, "lips_out": SEEN}), reading("c", {"close": NOT, "lips_out": NOT})),
        ],
        CHECKLIST,
    )
    assert found is not None
    assert (found.n_photos, found.name) == (2, "Krippendorff's alpha")
    assert found.percent.value == pytest.approx(0.75)


def test_nothing_is_said_of_photos_with_one_reading_or_readings_that_may_not_be_seen() -> None:
    hidden = ExpertKeys(photo_id="p", mine=None, n_experts=2, all=(), opened=False)
    assert set_agreement([hidden, photo(reading("a", {"close": SEEN}))], CHECKLIST) is None


def test_kappa_without_variation_is_told_as_undefined_and_not_as_a_number() -> None:
    same = photo(reading("a", {"close": SEEN, "supported": SEEN}), reading("b", {"close": SEEN, "supported": SEEN}))
    found = set_agreement([same], CHECKLIST)
    assert found is not None
    assert "is not defined here: no variation" in agreement_line(found)


def test_a_key_from_experts_keeps_what_most_say_and_leaves_blank_what_they_part_on_evenly() -> None:
    keys = [
        reading("a", {"close": SEEN, "supported": SEEN, "lips_out": NOT}, whys="the arm lies close"),
        reading("b", {"close": SEEN, "supported": NOT}, whys="no light between"),
        reading("c", {"close": NOT}, view=View.OBLIQUE),
    ]
    key, _ = key_from_experts(keys)
    assert (key.phase, key.view) == (Phase.AT_BREAST, View.SIDE)
    assert set(key.answers) == {"close"}
    close = key.answers["close"]
    assert (close.answer, close.accepted) == (SEEN, frozenset({NOT}))
    assert close.why == "the arm lies close. no light between."
    with pytest.raises(ValueError, match="two or more"):
        key_from_experts(keys[:1])


def test_what_an_expert_accepts_beside_stays_accepted() -> None:
    keys = [reading("a", {}), reading("b", {})]
    first = KeyAnswer(answer=CANT, why="dark", accepted=frozenset({SEEN}), settles=Settles.CLOSER)
    for key in keys:
        object.__setattr__(key.key, "answers", {"lips_out": first})
    made, _ = key_from_experts(keys)
    assert made.answers["lips_out"] == KeyAnswer(
        answer=CANT, why="dark.", accepted=frozenset({SEEN}), settles=Settles.CLOSER
    )


def test_points_lie_in_the_middle_of_where_two_or_more_put_them() -> None:
    first = LandmarkSet(points={"chin": Point(x=10, y=20), "ear": Point(x=1, y=1), "hip": Point(x=5, y=5)})
    second = LandmarkSet(points={"chin": Point(x=14, y=22), "hip": Point(x=7, y=5, visibility=Visibility.HIDDEN)})
    third = LandmarkSet(points={"hip": Point(x=9, y=8, visibility=Visibility.HIDDEN)})
    found = points_from_experts([first, second, third])
    assert set(found.points) == {"chin", "hip"}
    assert found.points["chin"] == Point(x=12, y=21, by="reference")
    assert found.points["hip"] == Point(x=7, y=6, visibility=Visibility.HIDDEN, by="reference")
    assert points_from_experts([]) == LandmarkSet()
