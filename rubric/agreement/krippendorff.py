"""Krippendorff's alpha, for any number of raters and with blanks.

``alpha = 1 - d_observed / d_expected``: the mean disagreement of pairs of ratings within items over that of all pairs of
ratings there are (Krippendorff 2011, "Computing Krippendorff's alpha-reliability"). Disagreement of two values is 1 for
nominal ones, their squared distance for interval ones, their squared distance in mid-ranks for ordinal ones, and the
squared ratio of difference and sum for ratios.
"""

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rubric.agreement.coding import BLANK, CodedTable, Rating, Table, coded, numbers, too_little
from rubric.errors import InvalidRatings
from rubric.estimates import Agreement, Draws, draw_chunks
from rubric.said import Said

Level = Literal["nominal", "ordinal", "interval", "ratio"]
Floats = NDArray[np.float64]

#: Relative to the sizes that enter, what lies below it is rounding dust of zero.
_DUST = 1e-12

#: From so many items on, alike ones are taken together when items are drawn again.
_MANY_ITEMS = 5000


def krippendorff_alpha(
    table: Table | CodedTable, level: Level = "nominal", *, order: Sequence[Rating] | None = None
) -> Agreement:
    """Krippendorff's alpha with a bootstrap interval over items.

    Parameters
    ----------
    table : rows of ratings, or codes
    level : "nominal", "ordinal", "interval" or "ratio"
        Interval and ratio need numbers.
    order : sequence, for ordinal labels
        All labels from low to high. Numbers need none; a CodedTable has its own order.

    Returns
    -------
    Agreement
        Only items with two or more ratings enter, single ratings do not count. Undefined with fewer than two raters, no
        item rated twice, or no variation among the ratings that enter. The interval leaves out draws without variation;
        there is none for one item alone, or where all draws agree alike.

    Raises
    ------
    InvalidRatings
        For a level that needs numbers or an order which the table does not have.

    Examples
    --------
    >>> round(krippendorff_alpha([[1, 1, None], [2, 2, 3], [3, 3, 3], [3, 3, 3], [2, 2, 2]], "ordinal").value, 3)
    0.823
    """
    rows, scores, n_raters = _rows_and_scores(table, level, order)
    n_items = len(rows)
    reason = too_little(n_raters, n_items)
    if reason:
        return Agreement(value=None, n_items=n_items, n_raters=n_raters, reason=reason)
    value = _alphas(rows, scores, level, np.ones((1, n_items)))[0]
    if np.isnan(value):
        reason = Said("no variation: all ratings that enter are the same")
        return Agreement(value=None, n_items=n_items, n_raters=n_raters, reason=reason)
    draws = _drawn(rows, scores, level) if n_items > 1 else np.empty(0)
    if n_items < 2 or np.ptp(draws) < _DUST:
        reason = Said("no interval: one item only") if n_items < 2 else Said("no interval: all items agree alike")
        return Agreement(value=_tidy(value), n_items=n_items, n_raters=n_raters, reason=reason)
    return Agreement(
        value=_tidy(value),
        n_items=n_items,
        n_raters=n_raters,
        se=float(np.std(draws, ddof=1)),
        method=Draws(draws=tuple(draws.tolist())),
    )


def _tidy(value: float) -> float:
    return round(float(value), 12)


def _rows_and_scores(
    table: Table | CodedTable, level: Level, order: Sequence[Rating] | None
) -> tuple[Floats, Floats, int]:
    """What alpha needs of each item with two ratings or more, the categories' numbers, and how many raters there are.

    At the interval level an item is the number, sum and sum of squares of its readings (about their mean); else how many raters
    put it into each category, in rising order.
    """
    if level not in ("nominal", "ordinal", "interval", "ratio"):
        raise InvalidRatings(f"a level is nominal, ordinal, interval or ratio, got {level}")
    if level == "interval":
        readings = _readings(table)
        n = (~np.isnan(readings)).sum(axis=1)
        readings = readings[n >= 2] - (np.nanmean(readings[n >= 2]) if (n >= 2).any() else 0.0)
        rows = np.stack([n[n >= 2], np.nansum(readings, axis=1), np.nansum(readings**2, axis=1)], axis=1)
        return rows.astype(np.float64), np.empty(0), readings.shape[1]
    if isinstance(table, CodedTable):
        ratings = table
    elif level == "nominal" or (level == "ordinal" and order is not None):
        ratings = coded(table, order)
    else:
        values = numbers(table)
        ratings = coded(values.tolist(), np.unique(values[~np.isnan(values)]).tolist() or None)
    counts = ratings.counts()
    scores = _as_numbers(ratings) if level == "ratio" else np.arange(len(ratings.categories), dtype=np.float64)
    return counts[counts.sum(axis=1) >= 2].astype(np.float64), scores, ratings.n_raters


def _readings(table: Table | CodedTable) -> Floats:
    if not isinstance(table, CodedTable):
        return numbers(table)
    if not table.categories:
        return np.full(table.codes.shape, np.nan)
    read: Floats = np.where(table.codes == BLANK, np.nan, _as_numbers(table)[table.codes])
    return read


def _as_numbers(ratings: CodedTable) -> Floats:
    return numbers([ratings.categories]).reshape(-1)


def _drawn(rows: Floats, scores: Floats, level: Level) -> Floats:
    """Alpha of items drawn again; of very many items those that are alike are taken together."""
    alike = np.ones(len(rows), dtype=np.int64)
    if len(rows) > _MANY_ITEMS:
        rows, alike = np.unique(rows, axis=0, return_counts=True)
    draws = np.concatenate([_alphas(rows, scores, level, times) for times in draw_chunks(alike)])
    varied: Floats = draws[~np.isnan(draws)]
    return varied


def _alphas(rows: Floats, scores: Floats, level: Level, times: Floats) -> Floats:
    """Alpha of each draw of items; NaN, kept within this module, where a draw has no variation."""
    if level in ("nominal", "ratio"):
        return _alphas_by_metric(rows, _metric(scores, level), times)
    if level == "ordinal":
        return _alphas_by_ranks(rows, times)
    # With squared distances the pairs need not be listed: for m values their sum is 2(m·Σx² − (Σx)²).
    m, sums, squares = rows.T
    within = 2 * (m * squares - sums**2) / (m - 1)
    n = times @ m
    between = 2 * (n * (times @ squares) - (times @ sums) ** 2) / (n - 1)
    return _one_minus(times @ within, between, n)


def _metric(scores: Floats, level: Level) -> Floats:
    if level == "nominal":
        unlike: Floats = 1.0 - np.eye(len(scores))
        return unlike
    sums = scores[:, None] + scores
    ratio: Floats = np.divide(scores[:, None] - scores, sums, out=np.zeros_like(sums), where=sums != 0)
    return ratio**2


def _alphas_by_metric(counts: Floats, metric: Floats, times: Floats) -> Floats:
    within = ((counts @ metric) * counts).sum(axis=1) / (counts.sum(axis=1) - 1)
    totals = times @ counts
    n = totals.sum(axis=1)
    between = ((totals @ metric) * totals).sum(axis=1) / (n - 1)
    return _one_minus(times @ within, between, n)


def _alphas_by_ranks(counts: Floats, times: Floats) -> Floats:
    """As for squares, with the mid-ranks that the values have in each draw."""
    m = counts.sum(axis=1)
    alphas = np.empty(len(times))
    for chunk in np.array_split(np.arange(len(times)), len(times) * len(counts) // 500_000 + 1):
        totals = times[chunk] @ counts
        n = totals.sum(axis=1)
        ranks = np.cumsum(totals, axis=1) - (totals + n[:, None]) / 2  # about their mean, n / 2
        sums, squares = counts @ ranks.T, counts @ (ranks**2).T
        within = 2 * (m[:, None] * squares - sums**2) / (m[:, None] - 1)
        between = 2 * n * (totals * ranks**2).sum(axis=1) / (n - 1)
        alphas[chunk] = _one_minus((times[chunk].T * within).sum(axis=0), between, n)
    return alphas


def _one_minus(within: Floats, between: Floats, n: Floats) -> Floats:
    varied = between > _DUST * n
    ratio: Floats = np.divide(within, between, out=np.full_like(between, np.nan), where=varied)
    return 1.0 - ratio
