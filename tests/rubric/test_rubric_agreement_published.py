"""Statistics for several raters and for numbers, against published tables to the digits given."""

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
    percent_agreement,
    smallest_detectable_change,
    standard_error_of_measurement,
)

# Fleiss 1971, Psychol Bull 76:378-382, Table 1: 30 subjects, 5 categories, 6 raters each; kappa 0.430.
FLEISS_1971 = (
    "00060 03003 01401 00006 03030 20400 00402 20310 20040 00006 10050 11040 03300 10050 02031 "
    "00501 30012 51000 02040 10203 00006 01050 02013 20040 10041 05010 40002 02040 10500 00006"
)

# Krippendorff 2011, "Computing Krippendorff's alpha-reliability": 4 observers, 12 units, 41 values; cells from memory.
# A dot is a blank; a column is a unit.
KRIPPENDORFF_2011 = ("123321412...", "1233224125.3", ".3332342251.", "12332441251.")

# Shrout & Fleiss 1979, Psychol Bull 86:420-428: 6 targets, 4 judges; published .17 .29 .71 .44 .62 .91.
SHROUT_FLEISS_1979 = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]

# Bland & Altman 1986, Lancet i:307-310: peak flow in l/min, first readings of two meters, 17 subjects.
LARGE_METER = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI_METER = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]

# Gwet 2014, Handbook of inter-rater reliability, 4th ed.: two raters, three categories; AC1 recomputed.
GWET_2014 = [[13, 0, 0], [0, 20, 7], [0, 4, 56]]


def _pairs(counts, labels="abc"):
    return [(labels[i], labels[j]) for i, row in enumerate(counts) for j, n in enumerate(row) for _ in range(n)]


def _fleiss_rows():
    return [[category for category, n in enumerate(row) for _ in range(int(n))] for row in FLEISS_1971.split()]


def _krippendorff_rows():
    return [[None if cell == "." else int(cell) for cell in unit] for unit in zip(*KRIPPENDORFF_2011, strict=True)]


def test_fleiss_kappa_and_its_standard_error_by_chance_agree_with_the_paper():
    result = fleiss_kappa(_fleiss_rows())
    assert result.value == pytest.approx(0.4302445, abs=5e-8)
    # Fleiss, Nee & Landis 1979, Psychol Bull 86:974-977, recomputed
    assert result.se_h0 == pytest.approx(0.0243739, abs=5e-8)
    assert (result.n_items, result.n_raters, result.reason) == (30, 6, None)
    assert result.low < result.value < result.high


def test_ac1_of_the_same_table_agrees_with_the_recomputed_value():
    assert gwet_ac1(_fleiss_rows()).value == pytest.approx(0.44788, abs=5e-6)


def test_ac1_of_two_raters_and_its_standard_error_agree_with_gwet():
    result = gwet_ac1(_pairs(GWET_2014))
    assert result.value == pytest.approx(0.84933, abs=5e-6)
    assert result.se == pytest.approx(0.04322, abs=5e-6)


@pytest.mark.parametrize(
    ("counts", "se_h0"),
    [
        # Cohen 1968, Psychol Bull 70:213-220, Table 1; then tables of teaching texts; all recomputed
        ([[88, 10, 2], [14, 40, 6], [18, 10, 12]], 0.0519789),
        ([[20, 5], [10, 15]], 0.138564),
        ([[45, 15], [25, 15]], 0.097608),
        ([[25, 35], [5, 35]], 0.083148),
    ],
)
def test_the_standard_error_of_kappa_by_chance_agrees_with_published_tables(counts, se_h0):
    assert cohen_kappa(_pairs(counts)).se_h0 == pytest.approx(se_h0, abs=5e-7)


@pytest.mark.parametrize(
    ("level", "alpha"), [("nominal", 0.7434211), ("ordinal", 0.8153875), ("interval", 0.8491071), ("ratio", 0.7974027)]
)
def test_alpha_agrees_with_krippendorffs_own_table(level, alpha):
    result = krippendorff_alpha(_krippendorff_rows(), level)
    assert result.value == pytest.approx(alpha, abs=1e-7)
    assert (result.n_items, result.n_raters) == (11, 4)  # the twelfth unit has one value only


@pytest.mark.parametrize(
    ("name", "value", "published"),
    [
        ("icc_1_1", 0.165742, 0.17),
        ("icc_2_1", 0.289764, 0.29),
        ("icc_3_1", 0.714841, 0.71),
        ("icc_1_k", 0.442797, 0.44),
        ("icc_2_k", 0.620051, 0.62),
        ("icc_3_k", 0.909316, 0.91),
    ],
)
def test_intraclass_correlations_agree_with_shrout_and_fleiss(name, value, published):
    result = icc(SHROUT_FLEISS_1979, name)
    assert result.value == pytest.approx(value, abs=5e-7)
    assert round(result.value, 2) == published
    assert (result.n_items, result.n_raters, result.reason) == (6, 4, None)


@pytest.mark.parametrize(("name", "low", "high"), [("icc_2_1", 0.019, 0.761), ("icc_3_1", 0.342, 0.946)])
def test_their_intervals_agree_with_shrout_and_fleiss(name, low, high):
    result = icc(SHROUT_FLEISS_1979, name)
    assert (round(result.low, 3), round(result.high, 3)) == (low, high)


def test_bland_altman_agrees_with_the_paper():
    result = bland_altman(list(zip(LARGE_METER, MINI_METER, strict=True)))
    assert result.bias.value == pytest.approx(-2.117647, abs=5e-7)
    assert result.sd == pytest.approx(38.765130, abs=5e-7)
    assert (result.bias.low, result.bias.high) == pytest.approx((-22.048838, 17.813544), abs=5e-7)
    assert (result.lower.value, result.upper.value) == pytest.approx((-78.097302, 73.862007), abs=5e-7)
    assert (result.lower.low, result.lower.high) == pytest.approx((-112.619, -43.575), abs=5e-4)
    assert (result.upper.low, result.upper.high) == pytest.approx((39.340, 108.384), abs=5e-4)
    assert (result.bias.n_items, result.bias.n_raters) == (17, 2)


def test_bland_altman_with_two_standard_deviations_agrees_with_the_intervals_in_the_paper():
    result = bland_altman(list(zip(LARGE_METER, MINI_METER, strict=True)), multiple=2)
    assert (result.lower.value, result.upper.value) == pytest.approx((-79.647907, 75.412613), abs=5e-7)
    assert (result.lower.low, result.lower.high) == pytest.approx((-114.169742, -45.126072), abs=5e-7)
    assert (result.upper.low, result.upper.high) == pytest.approx((40.890778, 109.934447), abs=1e-6)


def test_kappa_and_ac1_part_where_a_sign_is_nearly_always_there_and_a_sentence_says_why():
    """Agreement on 94 % with a rare category: own table, recomputed."""
    both = kappa_and_ac1(_pairs([[118, 5], [2, 0]], labels=("seen", "not_seen")))
    assert both.kappa.value == pytest.approx(-0.02339, abs=5e-6)
    assert both.ac1.value == pytest.approx(0.94078, abs=5e-6)
    assert both.most_given == pytest.approx(243 / 250)
    assert both.note.startswith("97 % of all answers are “seen”. Kappa then takes most of the agreement for chance")


def test_no_sentence_where_the_answers_are_spread():
    assert kappa_and_ac1(_pairs([[20, 5], [10, 15]])).note == ""


def test_a_sentence_where_kappa_cannot_be_computed_but_ac1_can():
    table = coded([("seen", "seen", "seen")] * 9, ("seen", "not_seen", "cant_tell"))
    both = kappa_and_ac1(table)
    assert (both.kappa.value, both.ac1.value) == (None, 1)
    assert both.note == (
        "100 % of all answers are “seen”, so kappa cannot be computed. AC1 does not break down there and can be read."
    )


def test_the_standard_error_of_measurement_of_pairs_is_that_of_their_differences():
    """Two raters: consistency is sd(d)/√2, whose 1.96·√2-fold is the half-width of Bland and Altman's limits."""
    rows = list(zip(LARGE_METER, MINI_METER, strict=True))
    consistency = standard_error_of_measurement(rows, "consistency")
    assert consistency.value == pytest.approx(38.765130 / sqrt(2), abs=5e-7)
    change = smallest_detectable_change(rows, "consistency")
    assert change.value == pytest.approx(1.959964 * 38.765130, rel=1e-6)
    # agreement adds the raters' own part: ((mean difference)² - sd²/n) / 2 where that is above 0, here it is not
    assert standard_error_of_measurement(rows).value == pytest.approx(consistency.value)
    # a standard deviation's interval with 16 degrees of freedom: chi-squared quantiles 28.8454 and 6.90766 (tables)
    assert consistency.low == pytest.approx(consistency.value * sqrt(16 / 28.8454), rel=1e-5)
    assert consistency.high == pytest.approx(consistency.value * sqrt(16 / 6.90766), rel=1e-5)


def test_a_rater_who_always_reads_wide_counts_in_agreement_and_not_in_consistency():
    rng = np.random.default_rng(4)
    truth = rng.uniform(60, 150, 40)
    rows = np.column_stack([truth + rng.normal(0, 3, 40), truth + 10 + rng.normal(0, 3, 40)])
    shifted, level = (standard_error_of_measurement(rows, kind) for kind in ("agreement", "consistency"))
    assert level.low < 3 < level.high
    # raters 10 apart have a variance of 50 between them
    assert shifted.low < sqrt(9 + 50) < shifted.high


@pytest.mark.parametrize(
    ("table", "reason"),
    [
        ([], "agreement needs at least two raters, got 0"),
        ([["a"], ["b"]], "agreement needs at least two raters, got 1"),
        ([["a", None], [None, "b"]], "no item was rated by two raters"),
    ],
)
def test_too_little_to_compare_is_said(table, reason):
    for statistic in (percent_agreement, fleiss_kappa, gwet_ac1, krippendorff_alpha):
        assert (statistic(table).value, statistic(table).reason) == (None, reason)


def test_one_category_alone_leaves_the_statistics_beyond_chance_undefined():
    rows = [["a", "a", "a"], ["a", "a", None]]
    for statistic in (fleiss_kappa, gwet_ac1, krippendorff_alpha):
        assert statistic(rows).value is None
        assert statistic(rows).reason.startswith("no variation")
    assert gwet_ac1(rows, categories=("a", "b")).value == 1


def test_full_agreement_has_no_interval_and_says_so():
    rows = [["a", "a", "a"], ["b", "b", "b"]] * 3
    for statistic in (fleiss_kappa, krippendorff_alpha):
        result = statistic(rows)
        assert (result.value, result.low) == (1, None)
        assert result.reason.startswith("no interval")


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        ([], "agreement needs at least two raters, got 0"),
        ([[90, None], [None, 80]], "needs two or more items that all raters read, got 0"),
        ([[90, 91], [90, None]], "needs two or more items that all raters read, got 1"),
        ([[90, 90], [90, 90]], "no variation: all readings are the same"),
    ],
)
def test_an_intraclass_correlation_of_too_little_is_undefined_with_a_reason(rows, reason):
    result = icc(rows, "icc_2_1")
    assert result.value is None
    assert reason in result.reason


def test_items_that_do_not_differ_leave_the_mean_of_raters_without_a_correlation():
    rows = [[80, 100], [100, 80], [90, 90]]
    assert icc(rows, "icc_3_1").value == pytest.approx(-1)
    assert icc(rows, "icc_3_k").reason == "the items do not differ, so there is nothing for raters to agree on"


def test_readings_that_raters_share_fully_have_correlation_1_without_an_interval():
    result = icc([[80, 80], [100, 100], [95, 95]], "icc_2_1")
    assert (result.value, result.low, result.reason) == (1, None, "no interval: nothing is left unexplained")


def test_bland_altman_of_other_than_two_raters_or_of_one_item_says_what_is_missing():
    assert bland_altman([[1, 2, 3]]).bias.reason == "Bland-Altman compares two raters, got 3"
    one = bland_altman([[100, 90], [80, None]])
    assert (one.bias.value, one.bias.low, one.lower.value, one.sd) == (10, None, None, None)
    same = bland_altman([[100, 90], [80, 70], [60, 50]])
    assert (same.bias.value, same.bias.reason) == (10, "no interval: all differences are the same")
    assert (same.lower.value, same.upper.value) == (10, 10)


@pytest.mark.parametrize("name", ["icc_1_1", "icc_2_1", "icc_3_1"])
def test_items_that_do_not_differ_at_all_leave_one_raters_correlation_without_an_interval(name):
    """The formulas divide by next to nothing there, or give an interval without width."""
    result = icc([[0.0, 2.0], [1.0, 1.0]], name)
    assert (result.value, result.low, result.high) == (-1, None, None)
    assert result.reason == "no interval: the items differ too little from each other"
