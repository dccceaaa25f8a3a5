"""Percent agreement and Cohen's kappa against published tables, an oracle of another kind, and properties."""

from math import isclose, nan, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.inter_rater import aggregate_raters, fleiss_kappa

from rubric.agreement import Agreement, cohen_kappa, percent_agreement
from rubric.errors import InvalidRatings

# Cohen 1968, Psychol Bull 70:213-220, Table 1: rows judge B, columns judge A, n = 200, with his weights of
# disagreement; he gives kappa 0.492 and weighted kappa 0.348. More decimals recomputed from the table.
COHEN_1968 = [[88, 10, 2], [14, 40, 6], [18, 10, 12]]
COHEN_1968_DISAGREEMENT = [[0, 1, 3], [1, 0, 6], [3, 6, 0]]

# Gwet 2014, Handbook of inter-rater reliability, 4th ed.: two raters, three categories, kappa 0.79641.
GWET_2014 = [[13, 0, 0], [0, 20, 7], [0, 4, 56]]

# Fleiss 1971, Psychol Bull 76:378-382, Table 1: 30 subjects, 5 categories, 6 raters each; mean agreement 0.5556.
FLEISS_1971 = [
    "00060",
    "03003",
    "01401",
    "00006",
    "03030",
    "20400",
    "00402",
    "20310",
    "20040",
    "00006",
    "10050",
    "11040",
    "03300",
    "10050",
    "02031",
    "00501",
    "30012",
    "51000",
    "02040",
    "10203",
    "00006",
    "01050",
    "02013",
    "20040",
    "10041",
    "05010",
    "40002",
    "02040",
    "10500",
    "00006",
]

LABELS = ("seen", "not_seen", "cant_tell")


def _rows(counts, labels=LABELS):
    """The ratings behind a table of counts: rows the first rater, columns the second."""
    return [(labels[i], labels[j]) for i, row in enumerate(counts) for j, times in enumerate(row) for _ in range(times)]


def _kappa_of(p, weights):
    return 1 - (weights * p).sum() / (weights * np.outer(p.sum(axis=1), p.sum(axis=0))).sum()


def _delta_method_se(counts, weights):
    """Standard error by the multinomial delta method with numerical derivatives: no published formula in it."""
    counts = np.asarray(counts, dtype=float)
    n, p, step = counts.sum(), counts / counts.sum(), 1e-6
    slope = np.zeros_like(p)
    for place in np.ndindex(p.shape):
        nudge = np.zeros_like(p)
        nudge[place] = step
        # kappa of shares that need not sum to 1, kept homogeneous by dividing the sum out
        up, down = (_kappa_of((p + sign * nudge) / (p + sign * nudge).sum(), weights) for sign in (1, -1))
        slope[place] = (up - down) / (2 * step)
    return sqrt(((p * slope**2).sum() - (p * slope).sum() ** 2) / n)


@pytest.mark.parametrize(
    ("counts", "kappa", "se"),
    [
        (COHEN_1968, 0.4915254, 0.0510018),
        # small tables of teaching texts, values recomputed
        ([[20, 5], [10, 15]], 0.400000, 0.126996),
        ([[45, 15], [25, 15]], 0.130435, 0.098662),
        ([[25, 35], [5, 35]], 0.259259, 0.077160),
        (GWET_2014, 0.79641, 0.05891),
    ],
)
def test_kappa_and_its_standard_error_agree_with_published_tables(counts, kappa, se):
    result = cohen_kappa(_rows(counts))
    assert result.value == pytest.approx(kappa, abs=5e-6)
    assert result.se == pytest.approx(se, abs=5e-6)
    assert (result.n_items, result.n_raters, result.reason) == (np.sum(counts), 2, None)


@pytest.mark.parametrize(
    ("weights", "kappa", "se"),
    [(COHEN_1968_DISAGREEMENT, 0.3478261, 0.0755040), ("linear", 0.4736842, None), ("quadratic", 0.4545455, None)],
)
def test_weighted_kappa_agrees_with_cohens_own_table(weights, kappa, se):
    result = cohen_kappa(_rows(COHEN_1968), weights, categories=LABELS)
    assert result.value == pytest.approx(kappa, abs=5e-8)
    if se is not None:
        assert result.se == pytest.approx(se, abs=5e-8)


def test_kappa_falls_below_zero_while_raters_agree_on_94_percent():
    """High agreement about a rare sign: own table."""
    rows = _rows([[118, 5], [2, 0]])
    assert percent_agreement(rows).value == pytest.approx(118 / 125)
    assert cohen_kappa(rows).value == pytest.approx(-0.02339, abs=5e-6)


def test_mean_agreement_of_many_raters_agrees_with_fleiss():
    rows = [[category for category, times in enumerate(row) for _ in range(int(times))] for row in FLEISS_1971]
    result = percent_agreement(rows)
    assert result.value == pytest.approx(0.5555556, abs=5e-8)
    assert (result.n_items, result.n_raters) == (30, 6)
    # 30 items are enough for the percentiles to lie near those of a normal distribution, at both levels
    for level, quantile in ((0.95, 1.959964), (0.80, 1.281552)):
        interval = result.interval(level)
        assert interval.low == pytest.approx(result.value - quantile * result.se, abs=0.012)
        assert interval.high == pytest.approx(result.value + quantile * result.se, abs=0.012)
    assert result.low < result.value < result.high
    # the bootstrap's spread is that of a mean over items
    shares = [(sum(int(t) ** 2 for t in row) - 6) / 30 for row in FLEISS_1971]
    assert result.se == pytest.approx(np.std(shares, ddof=1) / sqrt(30), rel=0.06)


COUNTS = st.lists(st.lists(st.integers(0, 30), min_size=3, max_size=3), min_size=3, max_size=3)


def _with_spread(counts):
    used = np.asarray(counts)
    return np.count_nonzero(used.sum(axis=0)) > 1 and np.count_nonzero(used.sum(axis=1)) > 1


@given(COUNTS.filter(_with_spread), st.sampled_from([None, "linear", "quadratic"]))
def test_kappa_and_standard_error_agree_with_the_definition_and_a_numerical_delta_method(counts, weights):
    apart = np.abs(np.subtract.outer(range(3), range(3)))
    matrix = {None: 1.0 - np.eye(3), "linear": apart, "quadratic": apart**2}[weights]
    result = cohen_kappa(_rows(counts), weights, categories=LABELS)
    assert result.value == pytest.approx(_kappa_of(np.asarray(counts) / np.sum(counts), matrix), abs=1e-9)
    assert (result.se or 0.0) == pytest.approx(_delta_method_se(counts, matrix), abs=2e-5)


RATINGS = st.sampled_from([*LABELS, None])
PAIRS = st.lists(st.tuples(RATINGS, RATINGS), max_size=25)
TABLES = st.integers(2, 5).flatmap(lambda n: st.lists(st.lists(RATINGS, min_size=n, max_size=n), min_size=1))


def _alike(first: Agreement, second: Agreement) -> bool:
    numbers = [(getattr(first, name), getattr(second, name)) for name in ("value", "se", "low", "high")]
    same = all(a is b if a is None or b is None else isclose(a, b, abs_tol=1e-9) for a, b in numbers)
    return same and (first.n_items, first.reason) == (second.n_items, second.reason)


@given(PAIRS)
def test_kappa_and_percent_do_not_care_which_rater_comes_first(pairs):
    swapped = [(second, first) for first, second in pairs]
    assert _alike(cohen_kappa(pairs), cohen_kappa(swapped))
    assert _alike(percent_agreement(pairs), percent_agreement(swapped))


@given(PAIRS, st.permutations(LABELS))
def test_kappa_does_not_care_what_the_categories_are_called(pairs, names):
    renamed = [tuple(None if said is None else names[LABELS.index(said)] for said in pair) for pair in pairs]
    assert _alike(cohen_kappa(pairs), cohen_kappa(renamed))


@given(PAIRS, st.randoms())
def test_the_order_of_items_does_not_matter(pairs, random):
    shuffled = random.sample(pairs, len(pairs))
    assert _alike(cohen_kappa(pairs), cohen_kappa(shuffled))


@given(st.lists(st.sampled_from(LABELS), min_size=2).filter(lambda said: len(set(said)) > 1))
def test_kappa_is_1_where_raters_agree_fully_and_use_several_categories(said):
    result = cohen_kappa([(one, one) for one in said])
    assert result.value == 1
    assert (result.low, result.high, result.se) == (None, None, None)
    assert result.reason == "no interval: the large-sample formula gives a standard error of 0 for such a table"


@given(PAIRS, PAIRS.map(lambda pairs: [(first, None) for first, _ in pairs]))
def test_items_that_one_rater_left_blank_change_nothing(pairs, blanks):
    if pairs:
        assert _alike(cohen_kappa(pairs), cohen_kappa(pairs + blanks))
        assert _alike(percent_agreement(pairs), percent_agreement(pairs + blanks))


@given(TABLES)
def test_every_result_is_a_number_in_its_range_or_has_a_reason(table):
    for result, least in ((percent_agreement(table), 0), (cohen_kappa(table), -1)):
        if result.value is None:
            assert result.reason
            assert (result.low, result.high, result.se) == (None, None, None)
        else:
            assert least <= result.value <= 1
            assert (result.low is None) == bool(result.reason)
            if result.low is not None:
                assert least <= result.low <= result.value + 1e-9
                assert result.value - 1e-9 <= result.high <= 1


@given(TABLES)
def test_percent_agreement_is_1_exactly_where_no_two_raters_part(table):
    result = percent_agreement(table)
    parted = any(len({said for said in row if said is not None}) > 1 for row in table)
    if result.value is not None:
        assert (result.value == 1) == (not parted)


@given(st.lists(st.lists(st.sampled_from(LABELS), min_size=4, max_size=4), min_size=2))
def test_percent_agreement_of_many_is_the_observed_agreement_within_fleiss_kappa(table):
    """statsmodels gives kappa alone; observed = kappa (1 - expected) + expected, expected from the shares of all."""
    counts, _ = aggregate_raters(np.array(table))
    expected = ((counts.sum(axis=0) / counts.sum()) ** 2).sum()
    if expected < 1:
        observed = fleiss_kappa(counts) * (1 - expected) + expected
        assert percent_agreement(table).value == pytest.approx(observed, abs=1e-9)


def test_wilsons_interval_agrees_with_a_published_example():
    # Newcombe 1998, Stat Med 17:857-872, Table I, score method without continuity correction (from memory):
    # 81 of 263: 0.2553 to 0.3662; 15 of 148: 0.0624 to 0.1605; 0 of 20: 0 to 0.1611
    for agreeing, n, low, high in ((81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)):
        result = percent_agreement([("a", "a")] * agreeing + [("a", "b")] * (n - agreeing))
        assert (round(result.low, 4), round(result.high, 4)) == (low, high)


def test_the_standard_error_of_percent_agreement_of_two_raters_is_that_of_a_share():
    result = percent_agreement([("a", "a")] * 7 + [("a", "b")] * 3)
    assert result.se == pytest.approx(0.1449138)  # sqrt(0.7 * 0.3 / 10)
    assert percent_agreement([("a", "a")] * 7).se is None


def test_an_interval_of_kappa_is_cut_where_kappa_ends():
    result = cohen_kappa(_rows([[9, 1], [0, 10]]))
    assert result.value + 1.96 * result.se > 1
    assert result.high == 1


def test_full_agreement_of_two_raters_still_has_an_interval_that_shrinks_with_items():
    ten, hundred = (percent_agreement([("a", "a")] * n) for n in (10, 100))
    assert ten.high == hundred.high == 1
    assert ten.low < hundred.low < 1


def test_an_interval_can_be_asked_at_another_level():
    result = cohen_kappa(_rows(COHEN_1968))
    # 1.644854 and 1.959964: quantiles of the normal distribution
    assert result.interval(0.90).high == pytest.approx(0.4915254 + 1.644854 * 0.0510018, abs=1e-6)
    assert result.high == result.interval(0.95).high == pytest.approx(0.4915254 + 1.959964 * 0.0510018, abs=1e-6)
    for level in (0, 1, 95):
        with pytest.raises(ValueError, match="a level lies between 0 and 1"):
            result.interval(level)


def test_the_interval_of_kappa_covers_the_truth_about_as_often_as_it_says():
    """500 classes of 100 items drawn from a table with kappa 0.4: 95 in 100 intervals hold it, to three errors."""
    rng = np.random.default_rng(3)
    drawn = rng.multinomial(100, np.array([20, 5, 10, 15]) / 50, size=500)
    results = [cohen_kappa(_rows(counts.reshape(2, 2))) for counts in drawn]
    held = sum(result.low <= 0.4 <= result.high for result in results) / 500
    assert held == pytest.approx(0.95, abs=0.03)


def test_the_same_table_gives_the_same_bootstrap_interval_every_time():
    table = [["a", "a", "b"], ["a", "a", "a"], ["b", "a", "c"], ["c", "c", "c"]]
    assert percent_agreement(table).interval() == percent_agreement(table).interval()


@pytest.mark.parametrize(
    ("table", "reason"),
    [
        ([], "agreement needs at least two raters, got 0"),
        ([["a"], ["b"]], "agreement needs at least two raters, got 1"),
        ([["a", None], [None, "b"]], "no item was rated by two raters"),
        ([["a", ""], [nan, "b"]], "no item was rated by two raters"),
    ],
)
def test_too_few_raters_or_items_make_both_undefined(table, reason):
    for result in (percent_agreement(table), cohen_kappa(table)):
        assert (result.value, result.reason) == (None, reason)


def test_kappa_without_variation_is_undefined_while_percent_is_not():
    result = cohen_kappa([("seen", "seen")] * 9)
    assert result.value is None
    assert result.reason.startswith("no variation")
    assert (result.n_items, result.n_raters) == (9, 2)
    assert percent_agreement([("seen", "seen")] * 9).value == 1


def test_a_rater_with_one_category_only_makes_kappa_0_without_an_interval():
    result = cohen_kappa([("seen", "seen")] * 5 + [("seen", "not_seen")] * 4)
    assert (result.value, result.n_items, result.n_raters) == (0, 9, 2)
    assert result.interval() == cohen_kappa([]).interval()
    assert result.reason == "no interval: a rater used one category only, so kappa is 0 whatever the other said"


def test_kappa_of_three_raters_is_undefined_with_a_reason():
    result = cohen_kappa([("a", "b", "a")])
    assert (result.value, result.n_raters) == (None, 3)
    assert result.reason == "Cohen's kappa compares two raters, got 3"


def test_many_raters_who_agree_alike_on_all_items_have_no_bootstrap_interval():
    result = percent_agreement([["a", "a", "b"], ["b", "c", "c"]])
    assert result.value == pytest.approx(1 / 3)
    assert result.low is None
    assert result.reason.startswith("no interval: all items agree alike")


def test_cant_tell_counts_as_a_category_of_its_own():
    assert percent_agreement([("cant_tell", "cant_tell"), ("cant_tell", "not_seen")]).value == 0.5


def test_rows_of_different_lengths_are_refused():
    with pytest.raises(InvalidRatings, match=r"got rows of \[1, 2\] cells"):
        percent_agreement([["a"], ["a", "b"]])


def test_a_rating_outside_the_categories_is_refused():
    with pytest.raises(InvalidRatings, match="a rating must be one of a, b, got c"):
        cohen_kappa([("a", "c")], categories=("a", "b"))


@pytest.mark.parametrize(
    ("weights", "categories", "rule"),
    [
        ("linear", None, "weights need `categories`"),
        ("linear", ("a", "b", "b"), "each once"),
        ("cubic", ("a", "b"), "linear, quadratic or a matrix, got cubic"),
        ([[0, 1]], ("a", "b"), "a matrix of disagreement"),
        ([[0, -1], [1, 0]], ("a", "b"), "none below 0"),
        ([[1, 0], [0, 1]], ("a", "b"), "0 on its diagonal"),
        ([[0, nan], [1, 0]], ("a", "b"), "a matrix of disagreement"),
        ([[0, 0], [0, 0]], ("a", "b"), "needs an entry above 0"),
        ("linear", ("a",), "two or more"),
    ],
)
def test_weights_that_are_none_are_refused(weights, categories, rule):
    with pytest.raises(ValueError, match=rule):
        cohen_kappa([("a", "b"), ("b", "b")], weights, categories=categories)


def test_weights_are_checked_even_where_kappa_is_undefined():
    with pytest.raises(ValueError, match="weights need"):
        cohen_kappa([], "linear")


def test_weights_that_see_no_difference_between_the_categories_used_leave_kappa_undefined():
    merged = [[0, 0, 1], [0, 0, 1], [1, 1, 0]]
    result = cohen_kappa([("a", "b"), ("b", "a")], merged, categories=("a", "b", "c"))
    assert result.value is None
    assert result.reason.endswith("or in categories that the weights hold alike")


def test_weighted_kappa_ignores_a_category_that_nobody_used():
    rows = [("a", "a"), ("a", "b"), ("b", "b"), ("b", "b")]
    two, three = (cohen_kappa(rows, "linear", categories=order) for order in (("a", "b"), ("a", "b", "c")))
    assert _alike(two, three)
    assert _alike(two, cohen_kappa(rows))  # with two categories every weight is the same
