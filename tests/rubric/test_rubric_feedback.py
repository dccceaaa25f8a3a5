"""A sheet beside the key, item by item."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, Settles, Spot, View
from rubric.checklist import shipped_checklist
from rubric.feedback import Outcome, compare_with_key, spot_distance

SEEN, NOT_SEEN, CANT_TELL = Answer.SEEN, Answer.NOT_SEEN, Answer.CANT_TELL
SHARE = st.floats(0, 1)


def _compare(own, key, *, item="close", phase=Phase.AT_BREAST, view=View.SIDE, **options):
    sheet = AnswerSheet(phase=phase, view=view, answers={} if own is None else {item: own})
    reference = ReferenceKey(phase=Phase.AT_BREAST, view=View.SIDE, answers={} if key is None else {item: key})
    return compare_with_key(shipped_checklist(), sheet, reference, **options)


@pytest.mark.parametrize(
    ("own", "key", "accepted", "outcome"),
    [
        (SEEN, SEEN, (), Outcome.SAME),
        (CANT_TELL, CANT_TELL, (), Outcome.SAME),
        (SEEN, NOT_SEEN, (SEEN,), Outcome.ACCEPTED),
        (SEEN, CANT_TELL, (SEEN,), Outcome.ACCEPTED),
        (SEEN, NOT_SEEN, (), Outcome.DIFFERS),
        (NOT_SEEN, SEEN, (CANT_TELL,), Outcome.DIFFERS),
        (SEEN, CANT_TELL, (), Outcome.OVER_CLAIMED),
        (NOT_SEEN, CANT_TELL, (SEEN,), Outcome.OVER_CLAIMED),
        (CANT_TELL, SEEN, (), Outcome.UNDER_CLAIMED),
        (CANT_TELL, NOT_SEEN, (CANT_TELL,), Outcome.ACCEPTED),
    ],
)
def test_each_pair_of_answers_has_its_outcome(own, key, accepted, outcome):
    feedback = _compare(ItemAnswer(answer=own), KeyAnswer(answer=key, why="", accepted=frozenset(accepted)))
    assert [item.outcome for item in feedback.items] == [outcome]
    assert feedback.n_compared == 1
    assert feedback.n_same == (outcome in {Outcome.SAME, Outcome.ACCEPTED})
    assert feedback.over_claimed == (("close",) if outcome == Outcome.OVER_CLAIMED else ())


def test_a_blank_and_an_item_outside_the_key_are_told_and_not_compared():
    blank = _compare(None, KeyAnswer(answer=SEEN, why="the arms wrap around"))
    assert blank.items[0].outcome == Outcome.BLANK
    assert blank.items[0].text == "You left this blank; the key says seen. Why: The arms wrap around."
    extra = _compare(ItemAnswer(answer=SEEN), None)
    assert extra.items[0].outcome == Outcome.NOT_IN_KEY
    assert extra.items[0].text == "You said seen; the key says nothing about this item."
    assert (blank.n_compared, extra.n_compared) == (0, 0)


def test_an_over_claim_says_why_and_which_view_would_settle_it():
    key = KeyAnswer(answer=CANT_TELL, why="a sleeve hides the edge", settles=Settles.BACK)
    assert _compare(ItemAnswer(answer=SEEN), key).items[0].text == (
        "You said seen; the key holds that this photo does not show enough to tell. Why: A sleeve hides the edge. "
        "What would settle it: a photo from behind the baby."
    )


def test_own_thought_on_what_would_settle_it_stands_beside_the_keys():
    key = KeyAnswer(answer=CANT_TELL, why="hidden", settles=Settles.BACK)
    same = _compare(ItemAnswer(answer=CANT_TELL, settles=Settles.BACK), key).items[0].text
    other = _compare(ItemAnswer(answer=CANT_TELL, settles=Settles.CLOSER), key).items[0].text
    assert same.endswith("You named the same.")
    assert other.endswith("What would settle it: a photo from behind the baby. You named a closer photo.")


def test_where_the_key_names_no_view_the_checklist_does():
    feedback = _compare(ItemAnswer(answer=SEEN), KeyAnswer(answer=CANT_TELL, why=""), item="chin_touch")
    assert "What would settle it: a closer photo." in feedback.items[0].text


def test_a_difference_is_told_at_the_spot_as_a_share_of_the_diagonal():
    own = ItemAnswer(answer=NOT_SEEN, spot=Spot(x=0.5, y=0.5))
    key = KeyAnswer(answer=SEEN, why="lip rolled out", spot=Spot(x=0.5, y=0.75))
    item = _compare(own, key, photo_size=(400, 300)).items[0]
    assert item.spot_distance == pytest.approx(75 / 500)  # 75 px of a 3-4-5 diagonal of 500 px
    assert item.text == (
        "You said not seen, which differs from the key: seen. Why: Lip rolled out. "
        "Your spot lies about 15 % of the photo's diagonal from the key's."
    )


def test_a_spot_that_nobody_pinned_has_no_distance():
    key = KeyAnswer(answer=SEEN, why="", spot=Spot(x=0.5, y=0.75))
    item = _compare(ItemAnswer(answer=SEEN), key).items[0]
    assert item.spot_distance is None
    assert item.text.endswith("The key pins where to look; you pinned no spot.")
    own = ItemAnswer(answer=SEEN, spot=Spot(x=0.5, y=0.75))
    assert _compare(own, KeyAnswer(answer=SEEN, why="")).items[0].spot_distance is None


def test_a_spot_distance_follows_the_shape_of_the_photo():
    own, key = ItemAnswer(answer=SEEN, spot=Spot(x=0.2, y=0.5)), KeyAnswer(answer=SEEN, why="", spot=Spot(x=0.7, y=0.5))
    wide, unsaid = _compare(own, key, photo_size=(400, 300)).items[0], _compare(own, key).items[0]
    assert wide.spot_distance == pytest.approx(200 / 500)
    assert unsaid.spot_distance == pytest.approx(0.5 / 2**0.5)  # taken as square


@given(SHARE, SHARE, SHARE, SHARE, st.integers(1, 9000), st.integers(1, 9000))
def test_a_spot_distance_is_symmetric_and_never_above_the_diagonal(ax, ay, bx, by, width, height):
    a, b = Spot(x=ax, y=ay), Spot(x=bx, y=by)
    there = spot_distance(a, b, photo_size=(width, height))
    assert there == spot_distance(b, a, photo_size=(width, height))
    assert 0 <= there <= 1 + 1e-12


def test_another_phase_or_view_than_the_keys_is_told():
    feedback = _compare(None, None, phase=Phase.BEFORE, view=None)
    assert feedback.notes == (
        "You chose before the latch, the key at the breast: other items apply then.",
        "You chose no view, the key a view of the baby's side: other items apply then.",
    )
    assert _compare(None, None).notes == ()


def test_answers_to_items_of_another_checklist_are_named_and_not_compared():
    feedback = _compare(ItemAnswer(answer=SEEN), KeyAnswer(answer=SEEN, why=""), item="old_item")
    assert feedback.items == ()
    assert feedback.notes == ("Not compared, because this checklist has no such item: old_item.",)


def test_the_ask_group_stays_out():
    feedback = _compare(ItemAnswer(answer=CANT_TELL), KeyAnswer(answer=CANT_TELL, why=""), item="ask_comfort")
    assert (feedback.items, feedback.n_same, feedback.n_compared, feedback.notes) == ((), 0, 0, ())


def test_items_come_in_the_order_of_the_checklist():
    answers = {name: ItemAnswer(answer=SEEN) for name in ("chin_touch", "close", "body_line")}
    sheet = AnswerSheet(phase=Phase.AT_BREAST, view=View.SIDE, answers=answers)
    key = ReferenceKey(phase=Phase.AT_BREAST, view=View.SIDE, answers={"supported": KeyAnswer(answer=SEEN, why="")})
    feedback = compare_with_key(shipped_checklist(), sheet, key)
    assert [item.item.id for item in feedback.items] == ["body_line", "close", "supported", "chin_touch"]


@pytest.mark.parametrize("own", list(Answer))
def test_a_sign_on_which_the_experts_part_shows_both_answers_and_compares_nobody(own):
    key = KeyAnswer(answer=CANT_TELL, why="the arm hides it")
    feedback = _compare(ItemAnswer(answer=own), key, disputed={"close"})
    assert feedback.items[0].outcome == Outcome.PARTED
    assert "Experts read this sign differently" in feedback.items[0].text
    assert (feedback.n_compared, feedback.n_same, feedback.over_claimed) == (0, 0, ())
    assert _compare(ItemAnswer(answer=own), key, disputed={"lips_out"}).n_compared == 1
