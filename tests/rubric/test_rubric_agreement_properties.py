"""What must hold of the statistics for any table."""

import json
from math import isclose

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.agreement import (
    ICC_NAMES,
    BlandAltman,
    CodedTable,
    bland_altman,
    coded,
    fleiss_kappa,
    gwet_ac1,
    icc,
    krippendorff_alpha,
    percent_agreement,
    standard_error_of_measurement,
)
from rubric.agreement.every import every_statistic, statistics_json
from rubric.errors import InvalidRatings

LABELS = ("seen", "not_seen", "cant_tell")
CELLS = st.sampled_from([*LABELS, None])
TABLES = st.integers(2, 5).flatmap(lambda n: st.lists(st.lists(CELLS, min_size=n, max_size=n), min_size=1, max_size=12))
READINGS = st.floats(0, 180).map(lambda value: round(value, 1)) | st.none()
NUMBER_TABLES = st.integers(2, 4).flatmap(
    lambda n: st.lists(st.lists(READINGS, min_size=n, max_size=n), min_size=1, max_size=10)
)
STATISTICS = (percent_agreement, fleiss_kappa, gwet_ac1, krippendorff_alpha)


def _alike(first, second, *, intervals=True):
    names = ("value", "se", "low", "high") if intervals else ("value",)
    pairs = [(getattr(first, name), getattr(second, name)) for name in names]
    return all(a is b if a is None or b is None else isclose(a, b, abs_tol=1e-7) for a, b in pairs) and (
        (first.n_items, first.reason) == (second.n_items, second.reason)
    )


@given(TABLES, st.sampled_from(STATISTICS), st.randoms())
def test_the_order_of_raters_does_not_matter(table, statistic, random):
    order = random.sample(range(len(table[0])), len(table[0]))
    assert _alike(statistic(table), statistic([[row[place] for place in order] for row in table]))


@given(TABLES, st.sampled_from(STATISTICS), st.permutations(LABELS))
def test_what_the_categories_are_called_does_not_matter(table, statistic, names):
    renamed = [[None if said is None else names[LABELS.index(said)] for said in row] for row in table]
    assert _alike(statistic(table), statistic(renamed))


@given(TABLES, st.sampled_from(STATISTICS), st.randoms())
def test_the_order_of_items_does_not_change_the_value(table, statistic, random):
    shuffled = random.sample(table, len(table))
    assert _alike(statistic(table), statistic(shuffled), intervals=False)


@given(TABLES, st.sampled_from(STATISTICS))
def test_an_item_that_nobody_rated_changes_nothing(table, statistic):
    assert _alike(statistic(table), statistic([*table, [None] * len(table[0])]))


@given(TABLES, st.sampled_from(STATISTICS))
def test_a_result_is_a_number_up_to_1_or_has_a_reason(table, statistic):
    result = statistic(table)
    if result.value is None:
        assert result.reason
        assert (result.low, result.high) == (None, None)
    else:
        assert result.value <= 1
        assert (result.low is None) == bool(result.reason)
        assert result.low is None or result.low <= result.high <= 1


@given(TABLES)
def test_codes_give_what_the_labels_give(table):
    ratings = coded(table)
    again = CodedTable(codes=ratings.codes, categories=ratings.categories)
    for statistic in STATISTICS:
        assert _alike(statistic(table), statistic(again))


@given(NUMBER_TABLES, st.floats(-50, 50), st.floats(0.5, 3))
def test_shifting_and_stretching_all_readings_leaves_correlations_and_scales_the_error(table, shift, factor):
    moved = [[None if cell is None else shift + factor * cell for cell in row] for row in table]
    for name in ICC_NAMES:
        before, after = icc(table, name), icc(moved, name)
        if before.value is not None and after.value is not None and abs(before.value) < 50:
            assert after.value == pytest.approx(before.value, abs=1e-4)
    before, after = standard_error_of_measurement(table), standard_error_of_measurement(moved)
    if before.value is not None:
        assert after.value == pytest.approx(factor * before.value, abs=1e-6)


@given(NUMBER_TABLES)
def test_interval_alpha_of_numbers_is_unchanged_by_mirroring_them(table):
    mirrored = [[None if cell is None else 180 - cell for cell in row] for row in table]
    first, second = krippendorff_alpha(table, "interval"), krippendorff_alpha(mirrored, "interval")
    assert (first.value is None) == (second.value is None)
    if first.value is not None:
        assert first.value == pytest.approx(second.value, abs=1e-6)


@given(st.lists(st.tuples(READINGS, READINGS), min_size=1, max_size=12))
def test_bland_altman_turns_round_with_its_raters(pairs):
    one, other = bland_altman(pairs), bland_altman([(second, first) for first, second in pairs])
    if one.bias.value is not None:
        assert other.bias.value == pytest.approx(-one.bias.value, abs=1e-9)
    if one.lower.value is not None:
        assert other.upper.value == pytest.approx(-one.lower.value, abs=1e-9)
        assert one.lower.value <= one.bias.value <= one.upper.value


def _refuse(name):
    raise AssertionError(f"{name} is not JSON")


@given(TABLES | NUMBER_TABLES, st.sampled_from(["nominal", "ordinal", "interval"]))
def test_the_json_of_any_table_has_every_field_and_no_nan(table, level):
    rows = [[None if cell is None else str(cell) for cell in row] for row in table]
    try:
        results = every_statistic(rows, level)
    except InvalidRatings:
        assert level != "nominal"  # labels are always nominal
        return
    obj = json.loads(json.dumps(statistics_json(results), allow_nan=False), parse_constant=_refuse)
    for name, entry in obj.items():
        fields = ["value", "low", "high", "n_items", "n_raters", "reason"]
        assert list(entry) == (fields if name != "bland_altman" else [*fields, "limits"])
        assert entry["value"] is not None or entry["reason"]
        assert isinstance(results[name], BlandAltman) == ("limits" in entry)


def test_the_bootstrap_interval_of_alpha_covers_the_truth_about_as_often_as_it_says():
    """300 tables of 60 items by 3 raters of one population: at least 90 in 100 intervals hold alpha of 20,000 items."""
    rng = np.random.default_rng(11)

    def table(n_items):
        truth = rng.integers(0, 3, (n_items, 1))
        return np.where(rng.random((n_items, 3)) < 0.7, truth, rng.integers(0, 3, (n_items, 3)))

    categories = LABELS
    # 20,000 items give alpha to about 0.005; no bootstrap is asked of them
    counts = CodedTable(codes=table(20_000), categories=categories).counts()
    within = (counts * (counts - 1)).sum() / (3 * 2) / len(counts)
    shares = counts.sum(axis=0) / counts.sum()
    alpha = (within - (shares**2).sum()) / (1 - (shares**2).sum())
    results = [krippendorff_alpha(CodedTable(codes=table(60), categories=categories)) for _ in range(300)]
    held = np.mean([result.low <= alpha <= result.high for result in results])
    assert 0.90 <= held <= 0.99


@pytest.mark.parametrize(
    ("codes", "rule"),
    [
        (np.array([[0.5]]), "whole numbers"),
        (np.array([0, 1]), "by item and rater"),
        (np.array([[3]]), "codes run from -1 to 2"),
        (np.array([[-2]]), "codes run from -1 to 2"),
    ],
)
def test_codes_that_are_none_are_refused(codes, rule):
    with pytest.raises(InvalidRatings, match=rule):
        CodedTable(codes=codes, categories=LABELS)


def test_levels_that_a_table_does_not_have_are_refused():
    with pytest.raises(InvalidRatings, match="this needs numbers, got seen"):
        krippendorff_alpha([["seen", "seen"]], "interval")
    with pytest.raises(InvalidRatings, match="a level is nominal, ordinal, interval or ratio"):
        krippendorff_alpha([["seen", "seen"]], "metric")
    with pytest.raises(InvalidRatings, match="numbers up to 1e"):
        icc([["inf", 1], [2, 3]], "icc_2_1")
    with pytest.raises(ValueError, match="one of icc_1_1"):
        icc([[1, 2], [3, 4]], "icc_4_1")
