"""Students against each other: how often one says what the others say, counted by hand and pair by pair."""

import numpy as np
import pytest
from simulated_classes import demo_cohort, simulated_key

from rubric.review.table import BLANK, NOT_SEEN, SEEN, ClassTable, KeyTable
from rubric.simulation.classes import simulate_answers
from screens.review.peers import same_as_others


def test_counted_by_hand() -> None:
    key = KeyTable(
        photos=("1", "2"),
        items=("close",),
        answers=np.array([[SEEN], [SEEN]]),
        accepted=np.zeros((2, 1, 3), bool),
        disputed=np.zeros((2, 1), bool),
    )
    answers = np.array([[[SEEN], [SEEN]], [[SEEN], [BLANK]], [[NOT_SEEN], [SEEN]], [[BLANK], [BLANK]]])
    table = ClassTable(students=("a", "b", "c", "d"), key=key, answers=answers)
    # a: photo 1 same as b, not as c; photo 2 same as c: 2 of 3. b: 1 of 2. c: 0 of 2, then 1 of 1. d: nothing.
    assert same_as_others(table) == pytest.approx((2 / 3, 1 / 2, 1 / 3, None))


def test_it_is_the_share_of_agreeing_pairs_as_pairs_are_counted_one_by_one() -> None:
    table = simulate_answers(simulated_key(6, ("close", "lips_out", "body_line"), 3), demo_cohort(7, blank=0.2), 3)
    found = same_as_others(table)
    for me, mine in enumerate(table.answers):
        pairs = [
            (mine[cell], other[cell])
            for who, other in enumerate(table.answers)
            if who != me
            for cell in np.ndindex(*mine.shape)
            if mine[cell] != BLANK and other[cell] != BLANK and table.key.answers[cell] != BLANK
        ]
        assert found[me] == pytest.approx(np.mean([a == b for a, b in pairs]))
