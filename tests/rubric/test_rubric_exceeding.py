"""One person against the others at the same places: never surer than independent answers allow, less where they hang together."""

import numpy as np
import pytest
from scipy.stats import binom

from rubric.exceeding import more_than_others

N = 300


def _random(seed, shape, chance):
    return (np.random.default_rng(seed).random(shape) < chance).astype(float)


def _tail(count, chances):
    """How likely at least `count` of independent events with these chances are, exactly."""
    likely = np.ones(1)
    for chance in chances:
        likely = np.convolve(likely, [1 - chance, chance])
    return likely[count:].sum()


def test_a_p_value_is_at_least_the_exact_one_and_at_equal_chances_the_binomial_one():
    for seed in range(40):
        said = _random(seed, (8, 6, 15), np.random.default_rng([seed, 1]).uniform(0.05, 0.5, (8, 6, 1)))
        said[..., 0] = _random([seed, 2], (8, 6), 0.7)
        exact = _tail(int(said[..., 0].sum()), said.mean(axis=2).ravel())
        assert more_than_others(said, margin=0.0)[0] >= exact * (1 - 1e-9)
    latin = np.zeros((6, 6, 6))  # everyone twice in each row and column, so no sum is wider than independent ones
    latin[(np.add.outer(np.arange(6), np.arange(6))[..., None] + np.arange(6)) % 6 < 2] = 1.0
    assert more_than_others(latin, margin=-0.1)[0] == pytest.approx(binom.sf(11, 36, 1 / 3 - 0.1))


@pytest.mark.parametrize("seed", [1, 2])
def test_without_a_difference_a_p_value_below_a_level_is_as_rare_as_the_level(seed):
    p_values = [more_than_others(_random([seed, n], (8, 6, 12), 0.15), margin=0.0) for n in range(N)]
    for level in (0.05, 0.01):
        assert np.mean(np.concatenate(p_values) <= level) <= level


@pytest.mark.parametrize("seed", [1, 2])
def test_answers_that_go_together_on_a_photo_are_no_proof(seed):
    """Each student has one mood a photo: 8 photos say little, however many items there are."""
    p_values = []
    for n in range(N):
        mood = _random([seed, n, 1], (8, 1, 12), 0.15)
        p_values.append(more_than_others(np.broadcast_to(mood, (8, 16, 12)).copy(), margin=0.0))
    assert np.mean(np.concatenate(p_values) <= 0.01) <= 0.01


def test_a_difference_within_the_margin_is_ordinary():
    said = _random(3, (20, 16, 20), 0.15)
    said[..., 0] = _random(4, (20, 16), 0.19)
    assert more_than_others(said, margin=0.05)[0] > 0.05


def test_fewer_than_five_photos_are_not_tested():
    said = np.zeros((4, 16, 8))
    said[..., 0] = 1.0
    assert more_than_others(said, margin=0.05).tolist() == [1.0] * 8


def test_blanks_and_places_that_one_alone_answered_count_for_nothing():
    said = _random(5, (8, 6, 10), 0.2)
    said[..., 0] = 1.0
    wider = np.concatenate([said, np.full((8, 1, 10), np.nan)], axis=1)
    wider[:, -1, 0] = 1.0
    assert more_than_others(wider, margin=0.05) == pytest.approx(more_than_others(said, margin=0.05))
