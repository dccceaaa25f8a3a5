"""Keys by several experts, and one student over time."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from rubric.answers import Answer, KeyAnswer, Phase, ReferenceKey, Spot, View
from rubric.checklist import shipped_checklist
from rubric.feedback import Outcome
from rubric.over_time import AngleReading, angles_over_time, answers_over_time
from rubric.panel import KeyChange, consensus_key, expert_shares, key_changes, review_panel
from rubric.practice_plan import Attempt
from rubric.review.figures import Share
from rubric.review.table import key_table

SEEN, NOT_SEEN, CANT_TELL = Answer.SEEN, Answer.NOT_SEEN, Answer.CANT_TELL


def _key(view=View.SIDE, **answers):
    return ReferenceKey(
        phase=Phase.AT_BREAST,
        view=view,
        answers={
            item: answer if isinstance(answer, KeyAnswer) else KeyAnswer(answer=answer, why=f"{item} of {view}")
            for item, answer in answers.items()
        },
    )


KEYS = {
    "one": {
        "Ash": _key(body_line=SEEN, lips_out=SEEN, chin_touch=SEEN, ask_comfort=CANT_TELL),
        "Birch": _key(body_line=SEEN, lips_out=NOT_SEEN, nose_free=CANT_TELL, ask_comfort=SEEN),
        "Cedar": _key(View.OBLIQUE, body_line=SEEN, lips_out=NOT_SEEN, chin_touch=CANT_TELL),
    },
    "two": {"Ash": _key(lips_out=SEEN), "Birch": _key(lips_out=SEEN), "Cedar": _key(lips_out=SEEN)},
}


def test_the_panel_tells_where_experts_part_and_leaves_the_ask_group_out():
    panel = review_panel(shipped_checklist(), KEYS)
    assert panel.experts == ("Ash", "Birch", "Cedar")
    assert [(one.photo, one.item, one.most_given, one.agreed) for one in panel.items] == [
        ("one", "body_line", SEEN, True),
        ("one", "lips_out", NOT_SEEN, False),
        ("one", "chin_touch", None, False),
        ("one", "nose_free", CANT_TELL, True),
        ("two", "lips_out", SEEN, True),
    ]
    assert dict(panel.disputed) == {"one": frozenset({"lips_out", "chin_touch"}), "two": frozenset()}
    # items that two or more answered: 1, 1/3, 0 and 1 of their pairs agree
    assert panel.percent.value == pytest.approx((1 + 1 / 3 + 0 + 1) / 4)
    assert panel.percent.n_items == 4


def test_disputed_items_grade_nobody_once_they_are_in_the_key_table():
    panel = review_panel(shipped_checklist(), KEYS)
    key = key_table(
        shipped_checklist(), {"one": KEYS["one"]["Ash"], "two": KEYS["two"]["Ash"]}, disputed=panel.disputed
    )
    assert key.items == ("body_line", "lips_out", "chin_touch")
    assert key.graded.tolist() == [[True, False, False], [False, True, False]]
    assert expert_shares(panel, key) == pytest.approx(np.array([[1, 1 / 3, 1 / 2], [1, 1, 1]]))


def test_the_consensus_keeps_what_all_agree_on_and_who_changed_what_is_told():
    consensus = consensus_key(KEYS["one"])
    assert consensus.view == View.SIDE
    assert {item: one.answer for item, one in consensus.answers.items()} == {
        "body_line": SEEN,
        "nose_free": CANT_TELL,
    }
    assert consensus.answers["body_line"].why == "body_line of side body_line of oblique"
    agreed = ReferenceKey(
        phase=consensus.phase,
        view=consensus.view,
        answers={**consensus.answers, "lips_out": KeyAnswer(answer=NOT_SEEN, why="talked over")},
    )
    changes = key_changes(KEYS["one"], agreed)
    assert KeyChange(expert="Ash", item="lips_out", own=SEEN, consensus=NOT_SEEN) in changes
    assert not any(one.expert == "Birch" and one.item == "lips_out" for one in changes)
    assert KeyChange(expert="Cedar", item="nose_free", own=None, consensus=CANT_TELL) in changes


def test_an_accepted_answer_stays_only_where_all_accept_it():
    both = KeyAnswer(answer=SEEN, why="", accepted=frozenset({CANT_TELL, NOT_SEEN}))
    one = KeyAnswer(answer=SEEN, why="the rim shows", accepted=frozenset({CANT_TELL}), spot=Spot(x=0.2, y=0.3))
    merged = consensus_key({"Ash": _key(lips_out=both), "Birch": _key(lips_out=one)}).answers["lips_out"]
    assert merged == KeyAnswer(answer=SEEN, why="the rim shows", accepted=frozenset({CANT_TELL}), spot=one.spot)


def test_one_experts_key_is_its_own_consensus_and_none_is_refused():
    key = KEYS["one"]["Ash"]
    assert consensus_key({"Ash": key}) == key
    assert key_changes({"Ash": key}, key) == ()
    with pytest.raises(ValueError, match="at least one expert's key"):
        consensus_key({})


def test_a_panel_of_one_or_of_none_says_why_nothing_is_compared():
    alone = review_panel(shipped_checklist(), {"two": {"Ash": _key(lips_out=SEEN)}})
    assert alone.percent.reason == "agreement needs at least two raters, got 1"
    assert alone.disputed == {"two": frozenset()}
    assert review_panel(shipped_checklist(), {}).items == ()


MONDAY = datetime(2026, 3, 2, 9, tzinfo=UTC)


def _attempt(outcome, days=0):
    return Attempt(item="lips_out", photo="p", outcome=outcome, at=MONDAY + timedelta(days=days))


def test_answers_over_time_are_shares_by_day_and_blanks_do_not_count():
    days = answers_over_time(
        [
            _attempt(Outcome.SAME, 2),
            _attempt(Outcome.SAME),
            _attempt(Outcome.ACCEPTED),
            _attempt(Outcome.OVER_CLAIMED),
            _attempt(Outcome.BLANK),
            _attempt(Outcome.NOT_IN_KEY, 5),
        ]
    )
    assert [one.day for one in days] == [date(2026, 3, 2), date(2026, 3, 4)]
    assert (days[0].agrees, days[0].over_claimed) == (Share(count=2, n=3), Share(count=1, n=3))


def test_days_are_those_of_the_calendar_that_is_asked_for():
    """Nine in the morning in UTC is still Sunday evening in Honolulu and all but midnight in Auckland."""
    late = [_attempt(Outcome.SAME), Attempt(item="a", photo="p", outcome=Outcome.SAME, at=MONDAY + timedelta(hours=3))]
    for zone, days in (("UTC", [2]), ("Pacific/Honolulu", [1, 2]), ("Pacific/Auckland", [2, 3])):
        told = answers_over_time(late, zone=ZoneInfo(zone))
        assert [one.day.day for one in told] == days
    read = AngleReading(measure="gape_angle", difference=1, at=MONDAY)
    assert angles_over_time([read], zone=ZoneInfo("Pacific/Honolulu"))[0].day == date(2026, 3, 1)


def test_angles_over_time_tell_error_and_bias_by_day_and_measure():
    told = (("gape_angle", -6, 0), ("gape_angle", 2, 0), ("alignment_angle", 3, 0), ("gape_angle", 1, 1))
    read = [
        AngleReading(measure=measure, difference=difference, at=MONDAY + timedelta(days=days))
        for measure, difference, days in told
    ]
    first, second, third = angles_over_time(read)
    assert (first.measure, second.measure, third.day) == ("alignment_angle", "gape_angle", date(2026, 3, 3))
    assert (second.n, second.median_error, second.bias) == (2, 4, -2)
