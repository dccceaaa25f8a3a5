"""Angles beside the key's: which way a student reads, in words, and limits that agree with the review's own."""

import numpy as np
import pytest

from rubric.review.angles import AngleTable
from rubric.review.figures import class_bias, student_biases
from screens.review.angles import bias_words, limit_lines, signed, which_way

N = 12
KEY = np.linspace(60, 140, N)


def table(*off: np.ndarray, name: str = "gape_angle") -> AngleTable:
    """A student for each array of differences from the key."""
    return AngleTable(
        name=name,
        students=tuple(f"Student {n}" for n in range(1, len(off) + 1)),
        photos=tuple(str(n) for n in range(1, N + 1)),
        values=np.array([KEY + one for one in off]),
        key=KEY,
    )


NOISE = np.array([-4, 3, -2, 4, -3, 2, -1, 1, -2, 2, -3, 3], float)


@pytest.mark.parametrize(
    ("off", "name", "words"),
    [
        (NOISE + 10, "gape_angle", "always wide"),
        (NOISE - 10, "gape_angle", "always narrow"),
        (NOISE + 3.5, "gape_angle", "mostly wide: 11 of 12"),
        (NOISE, "gape_angle", "no one way"),
        (NOISE - 10, "alignment_angle", "always small"),
    ],
)
def test_a_side_is_told_only_where_the_whole_interval_lies_on_it(off: np.ndarray, name: str, words: str) -> None:
    readings = table(off, NOISE, name=name)
    assert which_way(student_biases(readings)[0], readings) == words


def test_with_too_few_readings_no_side_is_told() -> None:
    few = np.full(N, np.nan)
    few[:2] = 20
    readings = table(few)
    assert which_way(student_biases(readings)[0], readings) == "–"


def test_the_lines_of_the_plot_are_the_reviews_bias_and_limits_with_intervals_around_them() -> None:
    rng = np.random.default_rng(3)
    readings = table(*rng.normal(2, 6, (9, N)))
    bias = class_bias(readings)
    assert bias.value is not None
    assert bias.limits is not None
    mean, upper, lower = limit_lines(readings)
    assert (mean.what, upper.what, lower.what) == ("mean difference", "upper limit", "lower limit")
    assert (lower.at, mean.at, upper.at) == pytest.approx((bias.limits[0], bias.value, bias.limits[1]))
    for line in (mean, upper, lower):
        assert line.low is not None
        assert line.high is not None
        assert line.low < line.at < line.high
    # Bland & Altman 1986: a limit's standard error is the root of 3 times that of the bias.
    assert (upper.high - upper.at) / (mean.high - mean.at) == pytest.approx(np.sqrt(3))  # type: ignore[operator]


def test_without_two_readings_there_are_no_lines() -> None:
    assert limit_lines(table(np.full(N, np.nan))) == ()


def test_what_rounds_to_nothing_carries_no_sign() -> None:
    assert [signed(value) for value in (0.04, -0.04, 0.06, -1.25)] == ["0.0", "0.0", "+0.1", "−1.2"]
    readings = table(np.full(N, np.nan))
    assert bias_words(student_biases(readings)[0]) == "no reading that the key has too"
