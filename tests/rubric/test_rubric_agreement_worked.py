"""Statistics of agreement on tables worked by hand, and where a fault of arithmetic or memory would hide."""

from math import sqrt

import numpy as np
import pytest

from rubric.agreement import (
    ICC_NAMES,
    CodedTable,
    coded,
    icc,
    krippendorff_alpha,
    numbers,
    percent_agreement,
    standard_error_of_measurement,
)
from rubric.agreement.every import every_statistic
from rubric.errors import InvalidRatings

#: Two raters, five items; the highest comes first, so that the order of appearance is not the order of the scale.
FIVE = [["3", "1"], ["1", "1"], ["2", "3"], ["2", "2"], ["3", "3"]]

#: 1, 2 and 3 come 3, 3 and 4 times: mid-ranks 1.5, 4.5 and 8, so that squared distances are 9, 12.25 and 42.25.
#: Observed (2·42.25 + 2·12.25)/10 = 10.9; expected 2(9·9 + 12·12.25 + 12·42.25)/90 = 1470/90.
FIVE_ORDINAL = 1 - 10.9 / (1470 / 90)
#: Observed 4/10; expected 2(9 + 12 + 12)/90.
FIVE_NOMINAL = 1 - 0.4 / (66 / 90)
#: Observed (2·4 + 2·1)/10 = 1; expected 2(9·1 + 12·1 + 12·4)/90 = 138/90.
FIVE_INTERVAL = 1 - 1 / (138 / 90)


@pytest.mark.parametrize(
    ("level", "alpha"), [("nominal", FIVE_NOMINAL), ("ordinal", FIVE_ORDINAL), ("interval", FIVE_INTERVAL)]
)
def test_every_statistic_gives_alpha_at_its_level_whatever_comes_first(level, alpha):
    for rows in (FIVE, FIVE[::-1], [row[::-1] for row in FIVE]):
        assert every_statistic(rows, level)["krippendorff_alpha"].value == pytest.approx(alpha)


def test_ordinal_labels_are_as_far_apart_as_their_order_says():
    labels = {"1": "narrow", "2": "medium", "3": "wide"}
    rows = [[labels[cell] for cell in row] for row in FIVE]
    order = ("narrow", "medium", "wide")
    told = every_statistic(rows, "ordinal", order)["krippendorff_alpha"]
    assert told.value == krippendorff_alpha(rows, "ordinal", order=order).value == pytest.approx(FIVE_ORDINAL)
    # With the highest in the middle, 3 and 1 are neighbours: mid-ranks 2, 5.5, 9; 12.25 both ways and 49 between ends.
    other = every_statistic(rows, "ordinal", ("narrow", "wide", "medium"))["krippendorff_alpha"]
    expected = 2 * (12 * 12.25 + 12 * 12.25 + 9 * 49) / 90
    assert other.value == pytest.approx(1 - (2 * 12.25 + 2 * 12.25) / 10 / expected)


def test_one_number_written_in_two_ways_is_one_category():
    results = every_statistic([["90", "90.0"], ["60", " 60"], ["1e2", "100"]])
    assert results["percent_agreement"].value == results["cohen_kappa"].value == 1


def test_a_table_of_blanks_has_no_statistics_of_numbers():
    results = every_statistic([["", ""], [None, ""]])
    assert len(results) == 5
    assert {result.reason for result in results.values()} == {"no item was rated by two raters"}


@pytest.mark.parametrize("level", ["nominal", "ordinal"])
def test_what_counts_categories_is_left_out_where_there_are_too_many_and_alpha_with_it(level):
    results = every_statistic([[str(i), str(i + 0.5)] for i in range(3300)], level)
    assert {
        name for name, result in results.items() if "too many to count" in (getattr(result, "reason", "") or "")
    } == {
        "percent_agreement",
        "cohen_kappa",
        "fleiss_kappa",
        "krippendorff_alpha",
        "gwet_ac1",
    }


# Alpha


def test_alpha_of_numbers_far_from_zero_is_that_of_their_differences():
    """Squares of 10⁸ leave 16 digits nothing for differences of 1, unless the numbers are taken from their mean."""
    rows = [[float(cell) for cell in row] for row in FIVE]
    for far in (1e8, -1e8):
        moved = [[far + cell for cell in row] for row in rows]
        assert krippendorff_alpha(moved, "interval").value == pytest.approx(FIVE_INTERVAL, rel=1e-9)


@pytest.mark.parametrize("level", ["nominal", "ordinal", "interval"])
def test_twice_as_many_items_of_the_same_kinds_narrow_the_interval_by_the_root_of_two(level):
    """4,000 items are drawn one by one, 8,000 with alike ones taken together: the spread must not know of that."""
    rng = np.random.default_rng(8)
    truth = rng.integers(0, 4, (4000, 1))
    read = np.where(rng.random((4000, 3)) < 0.6, truth, rng.integers(0, 4, (4000, 3))).astype(np.int64)
    categories = (0.0, 1.0, 2.0, 3.0)
    once = krippendorff_alpha(CodedTable(codes=read, categories=categories), level)
    twice = krippendorff_alpha(CodedTable(codes=np.vstack([read, read]), categories=categories), level)
    assert twice.value == pytest.approx(once.value, abs=1e-3)
    assert once.se / twice.se == pytest.approx(sqrt(2), rel=0.06)
    assert (once.high - once.low) / (twice.high - twice.low) == pytest.approx(sqrt(2), rel=0.08)


def test_two_items_are_enough_for_an_interval_of_alpha():
    """Drawn again they are both the first, or one of each, or both the second, which has no variation and is left out."""
    result = krippendorff_alpha([["seen", "not_seen"], ["seen", "seen"]])
    assert result.reason is None
    # One of each: observed 2/4, expected 2·3·1/(4·3) = 1/2. Both the first: observed 1, expected 2·2·2/(4·3) = 2/3.
    assert (result.low, result.high) == pytest.approx((1 - 1 / (2 / 3), 0))


# Intraclass correlation


@pytest.mark.parametrize("name", ICC_NAMES)
@pytest.mark.parametrize("unit", [1e-20, 1e20])
def test_an_intraclass_correlation_has_no_unit(name, unit):
    """Readings in any unit, however small: what is rounding and what is not is a share of the readings."""
    rows = np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=float)
    plain, scaled = icc(rows, name), icc(rows * unit, name)
    assert (scaled.value, scaled.low, scaled.high) == pytest.approx((plain.value, plain.low, plain.high), rel=1e-9)


@pytest.mark.parametrize(
    ("rows", "n_raters"), [([[4, 0], [0, 1]], 2), ([[8, 9], [3, 6], [9, 6]], 2), ([[1, 1, 7], [9, 9, 6]], 3)]
)
def test_the_mean_of_raters_has_no_interval_where_that_of_one_rater_leaves_what_a_mean_can_be(rows, n_raters):
    """The mean of k has k·ρ/(1 + (k − 1)ρ), which has no lower end once ρ's lies below −1/(k − 1)."""
    one = icc(rows, "icc_2_1")
    assert one.low < -1 / (n_raters - 1)
    mean = icc(rows, "icc_2_k")
    assert mean.value is not None
    assert (mean.low, mean.high) == (None, None)
    assert mean.reason == "no interval: the items differ too little from each other"


def test_the_interval_of_the_mean_is_that_of_one_rater_stepped_up():
    """Spearman-Brown, k·ρ/(1 + (k − 1)ρ), at both ends, for each of the three models."""
    rows = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
    for model in "123":
        one, mean = icc(rows, f"icc_{model}_1"), icc(rows, f"icc_{model}_k")
        for end in ("low", "high"):
            rho = getattr(one, end)
            assert getattr(mean, end) == pytest.approx(4 * rho / (1 + 3 * rho))


# What a table may hold


@pytest.mark.parametrize("statistic", [lambda t: icc(t, "icc_2_1"), standard_error_of_measurement])
def test_an_empty_table_and_rows_without_cells_have_no_raters(statistic):
    for rows in ([], [[], []], np.empty((0, 0))):
        assert statistic(rows).reason == "agreement needs at least two raters, got 0"


@pytest.mark.parametrize(
    ("codes", "sentence"),
    [
        ([[3]], "codes run from -1 to 2, got 3 to 3"),
        ([[0, -2]], "codes run from -1 to 2, got -2 to 0"),
        ([[-2, 3]], "codes run from -1 to 2, got -2 to 3"),
    ],
)
def test_codes_without_a_category_are_refused_with_what_they_may_be(codes, sentence):
    with pytest.raises(InvalidRatings) as caught:
        CodedTable(codes=np.array(codes), categories=("seen", "not_seen", "cant_tell"))
    assert str(caught.value) == sentence


def test_codes_are_a_copy_that_nobody_writes_to():
    given = np.array([[0, 1], [-1, 0]])
    table = CodedTable(codes=given, categories=("a", "b"))
    given[:] = 7
    assert table.codes.tolist() == [[0, 1], [-1, 0]]
    assert (table.n_raters, table.counts().tolist()) == (2, [[1, 1], [1, 0]])
    with pytest.raises(ValueError, match="read-only"):
        table.codes[0, 0] = 1


def test_categories_that_are_named_stand_in_that_order_and_no_other_is_let_in():
    assert coded([["b", "a"]], ("a", "b", "c")).codes.tolist() == [[1, 0]]
    assert coded([["b", "a"]], ("a", "b", "c")).categories == ("a", "b", "c")
    with pytest.raises(InvalidRatings) as caught:
        coded([["a", "d"], ["e", "a"]], ("a", "b"))
    assert str(caught.value) == "a rating must be one of a, b, got d"


def test_the_largest_number_that_may_enter_is_let_in_from_an_array_too():
    assert numbers(np.array([[1e100, -1e100]])).tolist() == [[1e100, -1e100]]


@pytest.mark.parametrize(("cell", "rule"), [("x" * 80, "numbers"), ("9" * 200, r"numbers up to 1e\+100")])
def test_of_a_cell_that_is_no_usable_number_60_characters_are_shown(cell, rule):
    with pytest.raises(InvalidRatings, match=rf"^this needs {rule}, got {cell[:60]}$"):
        numbers([[cell, 1]])


def test_the_agreement_of_two_raters_says_how_many_items_and_raters_entered():
    result = percent_agreement([["a", "a"], ["a", "b"], ["a", None]])
    assert (result.value, result.n_items, result.n_raters) == (0.5, 2, 2)
