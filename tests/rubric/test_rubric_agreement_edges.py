"""At the edges of what a table can tell: what each statistic says there, whole, and what its interval rests on."""

from math import sqrt

import numpy as np
import pytest

from rubric.agreement import (
    bland_altman,
    coded,
    cohen_kappa,
    fleiss_kappa,
    gwet_ac1,
    icc,
    kappa_and_ac1,
    krippendorff_alpha,
    mean_squares,
    numbers,
    percent_agreement,
    smallest_detectable_change,
    standard_error_of_measurement,
)
from rubric.agreement.every import every_statistic, statistics_json
from rubric.errors import InvalidRatings

# Shrout & Fleiss 1979, Psychol Bull 86:420-428: 6 targets, 4 judges.
SHROUT_FLEISS_1979 = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
TWO_RATERS = "agreement needs at least two raters, got"
READ_BY_ALL = "two or more items that all raters read, got"


def told(result):
    """All that a result says."""
    return result.value, result.low, result.high, result.se, result.n_items, result.n_raters, result.reason


def nothing(n_items, n_raters, reason):
    return None, None, None, None, n_items, n_raters, reason


def bare(value, n_items, n_raters, reason):
    return value, None, None, None, n_items, n_raters, reason


# Intraclass correlations and errors of measurement


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # As the R package psych prints them for that table (from memory, to the digits that it prints).
        ("icc_1_1", -0.133, 0.723),
        ("icc_1_k", -0.884, 0.912),
        ("icc_2_k", 0.071, 0.927),
        ("icc_3_k", 0.676, 0.986),
    ],
)
def test_the_other_intervals_of_shrout_and_fleiss_table_agree_with_another_program(name, low, high):
    result = icc(SHROUT_FLEISS_1979, name)
    assert (round(result.low, 3), round(result.high, 3)) == (low, high)


@pytest.mark.parametrize("model", ["icc_1", "icc_2", "icc_3"])
def test_the_interval_for_the_mean_of_raters_follows_spearman_and_brown_from_that_for_one(model):
    one, mean = icc(SHROUT_FLEISS_1979, f"{model}_1"), icc(SHROUT_FLEISS_1979, f"{model}_k")
    for level in (0.8, 0.95):
        ends = one.interval(level), mean.interval(level)
        for single, of_four in ((ends[0].low, ends[1].low), (ends[0].high, ends[1].high)):
            assert of_four == pytest.approx(4 * single / (1 + 3 * single))


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], nothing(0, 0, f"{TWO_RATERS} 0")),
        ([[90], [80]], nothing(2, 1, f"{TWO_RATERS} 1")),
        ([[90, 91, 92], [90, None, 1]], nothing(1, 3, f"an intraclass correlation needs {READ_BY_ALL} 1")),
        ([[90, 90]] * 3, nothing(3, 2, "no variation: all readings are the same")),
        ([[80, 80], [100, 100], [95, 95]], bare(1, 3, 2, "no interval: nothing is left unexplained")),
        ([[0.0, 2.0], [1.0, 1.0]], bare(-1, 2, 2, "no interval: the items differ too little from each other")),
    ],
)
def test_what_an_intraclass_correlation_says_at_its_edges(rows, expected):
    assert told(icc(rows, "icc_1_1")) == expected


def test_a_rater_who_reads_a_constant_more_leaves_the_third_model_nothing_unexplained_but_not_the_first():
    rows = [[80, 90], [100, 110], [95, 105]]
    assert told(icc(rows, "icc_3_1")) == bare(1, 3, 2, "no interval: nothing is left unexplained")
    first = icc(rows, "icc_1_1")
    assert first.reason is None
    assert first.low < first.value < first.high < 1


def test_an_unknown_correlation_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match=r"^one of icc_1_1, icc_2_1, icc_3_1, icc_1_k, icc_2_k, icc_3_k, got icc$"):
        icc([[1, 2], [3, 4]], "icc")


@pytest.mark.parametrize("error", [standard_error_of_measurement, smallest_detectable_change])
@pytest.mark.parametrize("kind", ["agreement", "consistency"])
@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], nothing(0, 0, f"{TWO_RATERS} 0")),
        ([[90], [80], [70]], nothing(3, 1, f"{TWO_RATERS} 1")),
        ([[90, 91, 92], [90, None, 1]], nothing(1, 3, f"this needs {READ_BY_ALL} 1")),
        ([[90, 90], [70, 70]], bare(0, 2, 2, "no interval: the readings do not differ at all")),
    ],
)
def test_what_an_error_of_measurement_says_at_its_edges(error, kind, rows, expected):
    assert told(error(rows, kind)) == expected


def test_errors_of_measurement_of_a_table_worked_by_hand():
    """Differences 10, 12, 8: mean 10, variance 4; between raters 3·100/2 = 150, left 4/2 = 2; 2 + 148/3 with raters."""
    rows = [[0, 10], [10, 22], [20, 28]]
    assert standard_error_of_measurement(rows, "consistency").value == pytest.approx(sqrt(2))
    whole = standard_error_of_measurement(rows)
    assert whole.value == pytest.approx(sqrt(2 + 148 / 3))
    assert (whole.n_items, whole.n_raters, whole.reason) == (3, 2, None)
    assert standard_error_of_measurement(rows[:2], "consistency").value == pytest.approx(1)


def test_the_interval_of_consistency_has_items_less_1_times_raters_less_1_degrees_of_freedom():
    result = standard_error_of_measurement([[1, 2, 4], [5, 5, 9], [7, 6, 8]], "consistency")
    # chi-squared quantiles with 4 degrees of freedom, tables: 11.1433 and 0.484419
    assert result.low == pytest.approx(result.value * sqrt(4 / 11.1433), rel=1e-5)
    assert result.high == pytest.approx(result.value * sqrt(4 / 0.484419), rel=1e-5)
    assert (result.n_items, result.n_raters) == (3, 3)


@pytest.mark.parametrize(("n", "wider"), [(25, (0.0, 6.0, -3.0)), (6, (0.0, 0.0, 0.0))])
def test_the_interval_with_the_raters_own_part_is_that_of_items_drawn_again_one_by_one(n, wider):
    """With raters who do not part in the mean, their own part is often cut at 0, and what is left counts alone."""
    rng = np.random.default_rng(11)
    rows = rng.normal(100, 20, (n, 1)) + np.array(wider) + rng.normal(0, 3, (n, 3))
    tables = (mean_squares(rows[rng.integers(n, size=n)]) for _ in range(8000))
    drawn = [sqrt(ms.residual + max(0, ms.raters - ms.residual) / n) for ms in tables]
    result = standard_error_of_measurement(rows)
    low, high = np.quantile(drawn, [0.025, 0.975])
    assert (result.low, result.high) == pytest.approx((low, high), rel=0.03)
    change = smallest_detectable_change(rows)
    assert (change.low / result.low, change.high / result.high) == pytest.approx((1.96 * sqrt(2),) * 2, rel=1e-4)


def test_raters_who_do_not_part_in_the_mean_leave_an_interval_that_can_be_listed():
    """Differences of ±1, three each. Six items drawn again have the mean 0 in 20 of 64 ways, ±1/3 in 30, else more.

    Raters 3m², left (6 − 6m²)/10: for 0 and 1/3 the raters' part is cut at 0, which leaves 6/10 and 16/30; beyond it counts,
    which makes 1/2 each time. Of all draws 14 in 64 have 1/2, so that the lower quartile is 16/30.
    """
    result = standard_error_of_measurement([[0, 1], [10, 9], [20, 21], [30, 29], [40, 41], [50, 49]])
    assert result.value == pytest.approx(sqrt(6 / 10))
    assert (result.low, result.high) == pytest.approx((sqrt(1 / 2), sqrt(6 / 10)))
    half = result.interval(0.5)
    assert (half.low, half.high) == pytest.approx((sqrt(16 / 30), sqrt(6 / 10)))


def test_an_unknown_kind_of_error_is_refused():
    with pytest.raises(ValueError, match=r"^agreement or consistency, got both$"):
        standard_error_of_measurement([[1, 2], [3, 4]], "both")


# Bland-Altman


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], nothing(0, 0, f"{TWO_RATERS} 0")),
        ([[1], [2]], nothing(0, 1, f"{TWO_RATERS} 1")),
        ([[1, 2, 3]], nothing(0, 3, "Bland-Altman compares two raters, got 3")),
        ([[1, None], [None, 2]], nothing(0, 2, "no item was rated by two raters")),
    ],
)
def test_bland_altman_without_a_pair_says_the_same_of_bias_and_limits(rows, expected):
    result = bland_altman(rows)
    assert [told(part) for part in (result.bias, result.lower, result.upper)] == [expected] * 3
    assert result.sd is None


def test_bland_altman_of_one_item_has_a_bias_and_no_limits():
    result = bland_altman([[100, 90], [80, None]])
    assert told(result.bias) == bare(10, 1, 2, "no interval: one item only")
    for limit in (result.lower, result.upper):
        assert told(limit) == nothing(1, 2, "limits need two or more items, got 1")


def test_bland_altman_of_two_items_has_limits_with_intervals():
    result = bland_altman([[100, 90], [80, 76]])
    assert (result.bias.value, result.sd) == (7, pytest.approx(sqrt(18)))
    assert (result.bias.se, result.lower.se) == pytest.approx((3, sqrt(3 / 2) * sqrt(18)))
    # Student's t with 1 degree of freedom, tables: 12.706
    assert result.bias.high - 7 == pytest.approx(12.706 * 3, rel=1e-4)
    assert (result.lower.n_items, result.upper.n_raters) == (2, 2)


def test_bland_altman_of_differences_that_are_all_the_same_has_no_intervals():
    result = bland_altman([[100, 90], [80, 70], [60, 50]])
    expected = bare(10, 3, 2, "no interval: all differences are the same")
    assert [told(part) for part in (result.bias, result.lower, result.upper)] == [expected] * 3


# Categories


@pytest.mark.parametrize("statistic", [percent_agreement, fleiss_kappa, gwet_ac1, krippendorff_alpha, cohen_kappa])
@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], nothing(0, 0, f"{TWO_RATERS} 0")),
        ([["a", None], [None, "b"]], nothing(0, 2, "no item was rated by two raters")),
    ],
)
def test_too_little_to_compare_is_told_with_how_little(statistic, rows, expected):
    assert told(statistic(rows)) == expected


ONE_CATEGORY = "no variation: all ratings fall in one category"


@pytest.mark.parametrize(
    ("statistic", "rows", "expected"),
    [
        (cohen_kappa, [["a", "a"]] * 4, nothing(4, 2, ONE_CATEGORY)),
        (fleiss_kappa, [["a", "a", None]] * 4, nothing(4, 3, ONE_CATEGORY)),
        (gwet_ac1, [["a", "a", "a"]] * 4, nothing(4, 3, f"{ONE_CATEGORY}, and no other is known")),
        (
            krippendorff_alpha,
            [["a", "a"], ["b", None]],
            nothing(1, 2, "no variation: all ratings that enter are the same"),
        ),
        (krippendorff_alpha, [["a", "b", "a"]], bare(-2 / 3 + 2 / 3, 1, 3, "no interval: one item only")),
        (krippendorff_alpha, [["a", "a"], ["b", "b"]], bare(1, 2, 2, "no interval: all items agree alike")),
        (fleiss_kappa, [["a", "a", "b"]], bare(-0.5, 1, 3, "no interval: one item only")),
        (fleiss_kappa, [["a", "a"], ["b", "b"]], bare(1, 2, 2, "no interval: the items show no spread")),
        (
            percent_agreement,
            [["a", "a", "b"], ["b", "b", "a"]],
            bare(1 / 3, 2, 3, "no interval: all items agree alike, so drawing items again shows no spread"),
        ),
    ],
)
def test_what_statistics_of_categories_say_at_their_edges(statistic, rows, expected):
    found = told(statistic(rows))
    assert found[1:] == expected[1:]
    assert found[0] == (None if expected[0] is None else pytest.approx(expected[0]))


def test_with_two_categories_ordinal_and_interval_alpha_are_the_nominal_one_with_its_interval():
    rng = np.random.default_rng(5)
    sure = rng.random((300, 1)) < 0.6
    rows = np.where(rng.random((300, 3)) < 0.8, sure, ~sure).astype(float).tolist()
    rows[0][1] = None
    nominal = told(krippendorff_alpha(rows, "nominal"))
    assert told(krippendorff_alpha(rows, "ordinal")) == pytest.approx(nominal)
    assert told(krippendorff_alpha(rows, "interval")) == pytest.approx(nominal)
    few = [told(krippendorff_alpha(rows[:30], level)) for level in ("nominal", "ordinal", "interval")]
    assert few[1] == pytest.approx(few[0])
    assert few[2] == pytest.approx(few[0])


@pytest.mark.parametrize(
    ("weights", "categories", "sentence"),
    [
        ("linear", None, "weights need `categories`, two or more, each once and in order"),
        ("cubic", ("a", "b"), "weights are linear, quadratic or a matrix, got cubic"),
        ([[0, 0], [0, 0]], ("a", "b"), "a matrix of disagreement needs an entry above 0"),
        (
            [[1, 0], [0, 1]],
            ("a", "b"),
            "a matrix of disagreement has a row and a column a category, none below 0, 0 on its diagonal",
        ),
    ],
)
def test_weights_that_are_none_are_refused_in_a_whole_sentence(weights, categories, sentence):
    with pytest.raises(ValueError, match=r"^weights|^a matrix") as caught:
        cohen_kappa([["a", "b"]], weights, categories=categories)
    assert str(caught.value) == sentence


def test_codes_of_numbers_give_the_interval_and_ratio_alpha_of_the_numbers():
    rows = [[90.0, 92.0, None], [60.0, 66.0, 61.0], [120.0, None, 113.0], [90.0, 90.0, 92.0]]
    codes = coded(rows)
    for level in ("interval", "ratio"):
        assert told(krippendorff_alpha(codes, level)) == pytest.approx(told(krippendorff_alpha(rows, level)))
    assert told(krippendorff_alpha(coded([[None, None]]), "interval")) == nothing(
        0, 2, "no item was rated by two raters"
    )


@pytest.mark.parametrize("statistic", [fleiss_kappa, gwet_ac1])
@pytest.mark.parametrize(
    ("rows", "value", "se", "t"),
    [
        # Both categories equally often, so that chance is 1/2 for each item and the error that of the mean agreement,
        # over 1/2: agreement 1, 1, 1/3, 1/3 with n - 1, and for two raters 1, 1, 0, 0 with n (worked by hand).
        (["aaaa", "bbbb", "aabb", "aabb"], 1 / 3, sqrt(4 / 27), 3.18245),
        (["aa", "bb", "ab", "ba"], 0, 0.5, 3.18245),
        (["aaa", "abb", "abb", "aab", "aab", "bbb"], 1 / 9, sqrt(32 / 405), 2.57058),
    ],
)
def test_the_error_beyond_chance_is_that_of_the_mean_and_its_interval_students(statistic, rows, value, se, t):
    """Quantiles of Student's t with one degree of freedom less than items: tables."""
    result = statistic([list(row) for row in rows])
    assert (result.value, result.se) == (pytest.approx(value, abs=1e-12), pytest.approx(se))
    assert result.value - result.low == pytest.approx(t * se, rel=1e-5)
    assert result.value == round(result.value, 12)


# Kappa and AC1 side by side


def test_three_raters_get_fleiss_kappa_and_two_get_cohens():
    three = [["a", "a", "b"], ["b", "b", "b"], ["a", "a", "a"], ["a", "b", "b"]]
    assert told(kappa_and_ac1(three).kappa) == told(fleiss_kappa(three))
    two = [row[:2] for row in three]
    assert told(kappa_and_ac1(two).kappa) == told(cohen_kappa(two))
    assert told(kappa_and_ac1(three).ac1) == told(gwet_ac1(three))


def test_without_ratings_there_is_nothing_to_say_of_kappa_and_ac1():
    both = kappa_and_ac1([[None, None]])
    assert (both.most_given, both.note) == (None, "")


def test_the_sentence_on_kappa_and_ac1_is_whole_and_names_the_category_that_is_given_most():
    rows = [["x", "x"]] + [["not_seen", "not_seen"]] * 60 + [["x", "not_seen"]] * 4 + [["not_seen", "x"]] * 4
    assert kappa_and_ac1(rows).note == (
        "93 % of all answers are “not seen”. Kappa then takes most of the agreement for chance and comes out low; "
        "AC1 does not. Read AC1 here, and how many agree."
    )


@pytest.mark.parametrize(
    ("given", "told"),
    [("seen", "seen"), ("not_seen", "not seen"), ("cant_tell", "can't tell"), ("too_wide", "too wide")],
)
def test_the_category_that_is_given_most_is_called_as_the_screen_calls_it(given, told):
    rows = [[given, given]] * 60 + [["x", given]] * 4 + [[given, "x"]] * 4
    assert kappa_and_ac1(rows).note.startswith(f"94 % of all answers are “{told}”. ")


def test_no_sentence_where_kappa_and_ac1_are_close_though_one_category_is_nearly_always_given():
    assert kappa_and_ac1([["a", "a"]] * 85 + [["b", "b"]] * 15).note == ""


def test_no_sentence_where_kappa_is_low_without_a_category_that_is_nearly_always_given():
    rows = [["a", "a"]] * 55 + [["a", "b"]] * 20 + [["b", "a"]] * 20 + [["b", "b"]] * 5
    both = kappa_and_ac1(rows)
    assert both.ac1.value - both.kappa.value > 0.2
    assert both.note == ""


# Every statistic of one file


LABELS = [["seen", "seen"], ["seen", "not_seen"], ["not_seen", "not_seen"], ["seen", None], ["cant_tell", "cant_tell"]]
READINGS = [["90", "92"], ["60", "66"], ["120", ""], ["105", "101"]]
CATEGORY_NAMES = ["percent_agreement", "cohen_kappa", "fleiss_kappa", "krippendorff_alpha", "gwet_ac1"]
NUMBER_NAMES = ["icc_1_1", "icc_2_1", "icc_3_1", "icc_1_k", "icc_2_k", "icc_3_k", "bland_altman"]


def test_labels_have_the_five_statistics_of_categories_each_as_it_is_alone():
    results = every_statistic(LABELS)
    assert list(results) == CATEGORY_NAMES
    alone = (percent_agreement, cohen_kappa, fleiss_kappa, krippendorff_alpha, gwet_ac1)
    assert [told(result) for result in results.values()] == [told(statistic(LABELS)) for statistic in alone]


@pytest.mark.parametrize("level", ["nominal", "ordinal", "interval"])
def test_numbers_have_the_statistics_of_numbers_too_and_alpha_at_their_level(level):
    read = numbers(READINGS)
    results = every_statistic(READINGS, level)
    assert list(results) == CATEGORY_NAMES + NUMBER_NAMES
    assert told(results["krippendorff_alpha"]) == told(krippendorff_alpha(read.tolist(), level))
    assert told(results["icc_2_k"]) == told(icc(read, "icc_2_k"))
    assert told(results["bland_altman"].bias) == told(bland_altman(read).bias)


def test_ordinal_labels_need_their_order_and_follow_it():
    rows = [["low", "low"], ["low", "high"], ["middle", "high"], ["high", "high"]]
    with pytest.raises(
        InvalidRatings, match=r"^ordinal labels need their order, from low to high: --order low,middle,high$"
    ):
        every_statistic(rows, "ordinal")
    order = ("low", "middle", "high")
    found = every_statistic(rows, "ordinal", order)["krippendorff_alpha"]
    as_numbers = [[order.index(cell) for cell in row] for row in rows]
    assert told(found) == told(krippendorff_alpha(as_numbers, "ordinal"))


def test_a_cell_that_is_no_number_is_named_where_numbers_are_needed():
    with pytest.raises(InvalidRatings, match=r"^this needs numbers, got wide$"):
        every_statistic([["90", "wide"]], "interval")


def test_more_different_numbers_than_memory_holds_are_not_counted_as_categories():
    rows = [[str(i), str(i + 0.5)] for i in range(3300)]
    results = every_statistic(rows, "interval")
    reason = "3300 items with 6600 different values are too many to count as categories; round the numbers"
    for name in ("percent_agreement", "cohen_kappa", "fleiss_kappa", "gwet_ac1"):
        assert told(results[name]) == nothing(3300, 2, reason)
    assert results["krippendorff_alpha"].value == pytest.approx(1, abs=1e-6)


def test_the_json_has_bland_altmans_limits():
    entry = statistics_json(every_statistic(READINGS, "interval"))["bland_altman"]
    whole = bland_altman(numbers(READINGS))
    assert entry["value"] == whole.bias.value
    assert entry["limits"] == {
        "lower": {"value": whole.lower.value, "low": whole.lower.low, "high": whole.lower.high},
        "upper": {"value": whole.upper.value, "low": whole.upper.low, "high": whole.upper.high},
    }


# What a table may hold


@pytest.mark.parametrize("shape", [(3,), (2, 2, 2)])
def test_an_array_of_another_shape_is_refused(shape):
    with pytest.raises(InvalidRatings, match=r"numbers up to 1e\+100 by item and rater, got shape"):
        numbers(np.zeros(shape))


@pytest.mark.parametrize("table", [np.array([[2e100, 1.0]]), np.array([[-np.inf, 1.0]])])
def test_an_array_with_numbers_too_large_to_square_is_refused(table):
    with pytest.raises(InvalidRatings, match=r"numbers up to 1e\+100"):
        numbers(table)


def test_whole_numbers_in_an_array_become_floats_that_can_hold_a_blank():
    assert numbers(np.array([[1, 2]])).dtype == np.float64
    assert numbers([[1, 2]]).dtype == np.float64
    assert numbers([[1e100, -1e100]]).tolist() == [[1e100, -1e100]]


@pytest.mark.parametrize(("cell", "rule"), [("1e101", "got 1e101$"), ("-inf", "got -inf$"), ("wide", "got wide$")])
def test_a_cell_that_is_no_usable_number_is_named(cell, rule):
    with pytest.raises(InvalidRatings, match=rule):
        numbers([[cell, "1"]])
