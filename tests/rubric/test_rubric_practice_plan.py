"""What to practise next: weak signs come back soon, known ones later, and the same past gives the same plan."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.feedback import Outcome
from rubric.practice_plan import Attempt, practice_plan
from rubric.review.figures import Share

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
PHOTOS = {"lips_out": ["p1", "p2", "p3"], "chin_touch": ["p1", "p2", "p3"]}


def _attempt(item, outcome, day=0.0, photo="p1"):
    return Attempt(item=item, photo=photo, outcome=outcome, at=START + timedelta(days=day))


def _plan(attempts, day, photos=PHOTOS):
    return {one.item: one for one in practice_plan(attempts, photos, now=START + timedelta(days=day))}


def test_a_sign_that_differed_comes_back_before_one_that_agreed():
    plan = _plan([_attempt("lips_out", Outcome.DIFFERS), _attempt("chin_touch", Outcome.SAME)], day=1)
    assert plan["lips_out"].due < plan["chin_touch"].due
    assert plan["lips_out"].recall < plan["chin_touch"].recall


def test_what_agrees_again_and_again_is_asked_at_growing_distances():
    attempts, gaps = [], []
    day = 0.0
    for _ in range(5):
        attempts.append(_attempt("lips_out", Outcome.SAME, day))
        due = _plan(attempts, day)["lips_out"].due
        gaps.append((due - attempts[-1].at).days)
        day += gaps[-1]
    assert gaps == sorted(gaps)
    assert gaps[0] >= 1
    assert gaps[-1] > 5 * gaps[0]
    assert gaps[-1] <= 180


def test_due_signs_come_first_then_new_ones_then_by_due_date():
    photos = {item: ["p1"] for item in ("known", "new", "weak", "half")}
    attempts = [
        _attempt("known", Outcome.SAME, 9.5),
        _attempt("weak", Outcome.OVER_CLAIMED),
        _attempt("half", Outcome.SAME),
        _attempt("half", Outcome.UNDER_CLAIMED, 0.01),
    ]
    plan = practice_plan(attempts, photos, now=START + timedelta(days=10))
    assert [one.item for one in plan] == ["weak", "half", "new", "known"]
    assert [one.is_due for one in plan] == [True, True, False, False]
    assert plan[2].due is None
    assert plan[0].reason == "0 of your 1 answers to this sign are the key's so far; it is time to look at it again."


def test_photos_not_seen_yet_come_before_those_seen_longest_ago():
    attempts = [_attempt("lips_out", Outcome.SAME, 0, "p2"), _attempt("chin_touch", Outcome.SAME, 1, "p1")]
    assert _plan(attempts, 2)["lips_out"].photos == ("p3", "p2", "p1")


def test_blanks_and_signs_without_a_key_are_no_reviews_but_the_photo_was_seen():
    plan = _plan([_attempt("lips_out", Outcome.BLANK), _attempt("lips_out", Outcome.NOT_IN_KEY)], 1)["lips_out"]
    assert (plan.due, plan.agrees) == (None, Share(count=0, n=0))
    assert plan.photos == ("p2", "p3", "p1")


def test_what_lies_after_now_is_passed_over():
    assert _plan([_attempt("lips_out", Outcome.SAME, 5)], 1)["lips_out"].due is None


def test_one_hour_in_other_zones_is_the_same_hour():
    there = START.astimezone(timezone(timedelta(hours=-7)))
    here = [Attempt(item="lips_out", photo="p1", outcome=Outcome.SAME, at=START)]
    away = [Attempt(item="lips_out", photo="p1", outcome=Outcome.SAME, at=there)]
    assert practice_plan(here, PHOTOS, now=START) == practice_plan(away, PHOTOS, now=there)


def test_times_without_a_zone_are_refused():
    with pytest.raises(ValueError, match="needs its zone"):
        Attempt(item="lips_out", photo="p1", outcome=Outcome.SAME, at=datetime(2026, 3, 2))
    with pytest.raises(ValueError, match="now needs its time zone"):
        practice_plan([], PHOTOS, now=datetime(2026, 3, 2))


ATTEMPTS = st.lists(
    st.builds(
        _attempt,
        st.sampled_from(["lips_out", "chin_touch", "other"]),
        st.sampled_from(list(Outcome)),
        st.floats(0, 60),
        st.sampled_from(["p1", "p2", "p9"]),
    ),
    max_size=12,
)


@given(ATTEMPTS, st.randoms())
def test_the_order_in_which_attempts_are_told_does_not_matter(attempts, random):
    shuffled = random.sample(attempts, len(attempts))
    assert practice_plan(attempts, PHOTOS, now=START + timedelta(days=61)) == practice_plan(
        shuffled, PHOTOS, now=START + timedelta(days=61)
    )


@given(ATTEMPTS, st.floats(0, 90))
def test_every_sign_that_has_photos_is_planned_once_and_recall_is_a_share(attempts, day):
    plan = practice_plan(attempts, PHOTOS, now=START + timedelta(days=day))
    assert sorted(one.item for one in plan) == sorted(PHOTOS)
    for one in plan:
        assert one.recall is None or 0 <= one.recall <= 1
        assert one.is_due == (one.due is not None and one.due <= START + timedelta(days=day))
        assert sorted(one.photos) == ["p1", "p2", "p3"]
