"""Statistics on 200 random tables with blanks: against their definitions in plain loops, and against other libraries.

The loops always run. The libraries are test-only and never in requirements.txt, since two of them are under GPL; where one
is not installed its test skips. `pip install krippendorff pingouin irrCAC` brings them; they were run with krippendorff
0.9.0, pingouin 0.7.0 and irrCAC 0.4.4. Nothing of their output is stored here.
"""

import warnings
from functools import cache
from itertools import permutations

import numpy as np
import pytest
from statsmodels.stats.inter_rater import aggregate_raters
from statsmodels.stats.inter_rater import fleiss_kappa as fleiss_of_statsmodels

from rubric.agreement import (
    ICC_NAMES,
    cohen_kappa,
    fleiss_kappa,
    gwet_ac1,
    icc,
    krippendorff_alpha,
    percent_agreement,
)

N_TABLES = 200
LEVELS = ("nominal", "ordinal", "interval")


def _ratings(seed):
    """A random table of whole numbers, items by raters, about one cell in five blank; never all alike."""
    rng = np.random.default_rng(seed)
    n_items, n_raters = rng.integers(4, 30), rng.integers(2, 7)
    truth = rng.integers(1, 5, size=(n_items, 1))
    said = np.where(rng.random((n_items, n_raters)) < 0.6, truth, rng.integers(1, 5, size=(n_items, n_raters)))
    table = np.where(rng.random(said.shape) < 0.2, np.nan, said)
    table[0, :2], table[1, :2] = (1, 2), (3, 3)
    return table


def _readings(seed):
    rng = np.random.default_rng(seed)
    n_items, n_raters = rng.integers(6, 30), rng.integers(2, 6)
    table = rng.normal(100, 20, (n_items, 1)) + rng.normal(0, 6, n_raters) + rng.normal(0, 8, (n_items, n_raters))
    table[rng.random(table.shape) < 0.1] = np.nan
    table[:3] = rng.normal(100, 15, (3, n_raters))  # some items that all read
    return table


def _rows(table):
    return [[None if np.isnan(cell) else float(cell) for cell in row] for row in table]


def _present(table):
    return [[cell for cell in row if not np.isnan(cell)] for row in table]


def _alpha_by_loops(table, level):
    """Alpha from the list of all pairs of ratings, as its author defines it."""
    units = [row for row in _present(table) if len(row) >= 2]
    values = [value for row in units for value in row]

    @cache
    def apart(a, b):
        low, high = min(a, b), max(a, b)
        if level == "nominal":
            return float(a != b)
        if level == "interval":
            return (a - b) ** 2
        between = sum(low <= value <= high for value in values)
        return (between - (values.count(low) + values.count(high)) / 2) ** 2 if a != b else 0.0

    observed = sum(apart(a, b) / (len(row) - 1) for row in units for a, b in permutations(row, 2)) / len(values)
    expected = sum(apart(a, b) for a, b in permutations(values, 2)) / (len(values) * (len(values) - 1))
    return 1 - observed / expected


def _shares_by_loops(table):
    rows = [row for row in _present(table) if row]
    categories = sorted({cell for row in rows for cell in row})
    pairs = [[a == b for a, b in permutations(row, 2)] for row in rows if len(row) >= 2]
    observed = sum(sum(pair) / len(pair) for pair in pairs) / len(pairs)
    pi = [sum(row.count(category) / len(row) for row in rows) / len(rows) for category in categories]
    return observed, pi


def _icc_by_loops(table, name):
    """The variance components by their sums of squares, item by item and rater by rater."""
    rows = [list(row) for row in table if not np.isnan(row).any()]
    n, k = len(rows), len(rows[0])
    grand = sum(map(sum, rows)) / (n * k)
    items = k * sum((sum(row) / k - grand) ** 2 for row in rows) / (n - 1)
    raters = n * sum((sum(column) / n - grand) ** 2 for column in zip(*rows, strict=True)) / (k - 1)
    total = sum((cell - grand) ** 2 for row in rows for cell in row)
    within = (total - items * (n - 1)) / (n * (k - 1))
    rest = (total - items * (n - 1) - raters * (k - 1)) / ((n - 1) * (k - 1))
    one = {
        "1": (items - within) / (items + (k - 1) * within),
        "2": (items - rest) / (items + (k - 1) * rest + k * (raters - rest) / n),
        "3": (items - rest) / (items + (k - 1) * rest),
    }[name[4]]
    return one if name.endswith("1") else k * one / (1 + (k - 1) * one)


@pytest.mark.parametrize("level", LEVELS)
def test_alpha_agrees_with_its_definition(level):
    for seed in range(N_TABLES):
        table = _ratings(seed)
        assert krippendorff_alpha(_rows(table), level).value == pytest.approx(_alpha_by_loops(table, level), abs=1e-6)


def test_percent_fleiss_kappa_and_ac1_agree_with_their_definitions():
    for seed in range(N_TABLES):
        table = _ratings(seed)
        observed, pi = _shares_by_loops(table)
        by_chance = sum(share**2 for share in pi)
        by_chance_gwet = sum(share * (1 - share) for share in pi) / (len(pi) - 1)
        assert percent_agreement(_rows(table)).value == pytest.approx(observed, abs=1e-9)
        assert fleiss_kappa(_rows(table)).value == pytest.approx((observed - by_chance) / (1 - by_chance), abs=1e-9)
        ac1 = (observed - by_chance_gwet) / (1 - by_chance_gwet)
        assert gwet_ac1(_rows(table)).value == pytest.approx(ac1, abs=1e-9)


@pytest.mark.parametrize("name", ICC_NAMES)
def test_intraclass_correlations_agree_with_sums_of_squares_by_loops(name):
    for seed in range(N_TABLES):
        table = _readings(seed)
        assert icc(table, name).value == pytest.approx(_icc_by_loops(table, name), abs=1e-9)


def test_fleiss_kappa_agrees_with_statsmodels_where_nobody_left_a_blank():
    for seed in range(N_TABLES):
        table = np.nan_to_num(_ratings(seed), nan=1).astype(int)
        counts, _ = aggregate_raters(table)
        assert fleiss_kappa(table.tolist()).value == pytest.approx(fleiss_of_statsmodels(counts), abs=1e-9)


@pytest.mark.parametrize("level", LEVELS)
def test_alpha_agrees_with_the_krippendorff_library(level):
    oracle = pytest.importorskip("krippendorff", reason="GPL, test-only; see the head of this file")
    for seed in range(N_TABLES):
        table = _ratings(seed)
        theirs = oracle.alpha(reliability_data=table.T, level_of_measurement=level)
        assert krippendorff_alpha(_rows(table), level).value == pytest.approx(theirs, abs=1e-6)


def test_intraclass_correlations_and_their_intervals_agree_with_pingouin():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its own imports
        oracle = pytest.importorskip("pingouin", reason="GPL, test-only; see the head of this file")
    pandas = pytest.importorskip("pandas")
    for seed in range(N_TABLES):
        table = _readings(seed)
        complete = table[~np.isnan(table).any(axis=1)]
        long = pandas.DataFrame(complete).stack().rename_axis(["item", "rater"]).reset_index(name="read")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            theirs = oracle.intraclass_corr(long, targets="item", raters="rater", ratings="read")
        for name, (_, row) in zip(ICC_NAMES, theirs.iterrows(), strict=True):
            ours = icc(table, name)
            assert ours.value == pytest.approx(row["ICC"], abs=1e-6)
            interval = row.filter(like="CI95").iloc[0]
            assert (ours.low, ours.high) == pytest.approx(tuple(interval), abs=0.006)  # it rounds to two decimals


def test_kappa_of_many_and_ac1_with_standard_errors_agree_with_irrcac():
    oracle = pytest.importorskip("irrCAC.raw", reason="test-only; see the head of this file")
    pandas = pytest.importorskip("pandas")
    for seed in range(N_TABLES):
        table = _ratings(seed)
        # it takes a blank for a category of its own unless the categories are named, and drops them where they are
        categories = np.unique(table[~np.isnan(table)]).tolist()
        theirs = oracle.CAC(pandas.DataFrame(table), categories=categories, digits=9)
        n_raters = table.shape[1]
        for ours, method in ((fleiss_kappa, "fleiss"), (gwet_ac1, "gwet"), (krippendorff_alpha, "krippendorff")):
            estimate = getattr(theirs, method)()["est"]
            result = ours(_rows(table))
            assert result.value == pytest.approx(estimate["coefficient_value"], abs=1e-6)
            if method != "krippendorff" and n_raters > 2:
                assert result.se == pytest.approx(estimate["se"], abs=1e-6)


def test_cohens_kappa_agrees_with_scikit_learn():
    oracle = pytest.importorskip("sklearn.metrics", reason="test-only; see the head of this file")
    for seed in range(N_TABLES):
        table = _ratings(seed)[:, :2]
        both = table[~np.isnan(table).any(axis=1)]
        for weights in (None, "linear", "quadratic"):
            theirs = oracle.cohen_kappa_score(both[:, 0], both[:, 1], weights=weights, labels=[1, 2, 3, 4])
            ours = cohen_kappa(_rows(table), weights, categories=(1.0, 2.0, 3.0, 4.0)).value
            assert ours == pytest.approx(theirs, abs=1e-6)
