"""How well raters agree: each statistic is a result with its interval, or the reason why it is undefined.

A table has one row an item and one column a rater. None, "" and NaN are blanks: missing, never a category. *Can't
tell* is a category like any other. The ask group stays out: `rubric.ratings.without_ask_items` drops it.
"""

from collections.abc import Sequence
from math import comb, sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from statsmodels.stats.inter_rater import cohens_kappa

from rubric.errors import InvalidRatings
from rubric.estimates import Agreement, Interval, ItemBootstrap, LargeSample, Wilson

__all__ = ["Agreement", "Interval", "Rating", "Table", "Weights", "cohen_kappa", "percent_agreement"]

Rating = str | float | None
Table = Sequence[Sequence[Rating]]
Weights = Literal["linear", "quadratic"] | Sequence[Sequence[float]]

#: Variances below it are rounding dust of zero.
_NO_VARIANCE = 1e-14


def percent_agreement(table: Table) -> Agreement:
    """The share of agreeing pairs of raters, 0 to 1, averaged over items.

    Two raters: the share of items on which they agree, with Wilson's interval. More: within each item the share of
    pairs that agree, then the mean over items with at least two ratings, each item counting once however many rated it
    (the observed agreement of Fleiss 1971, Psychol Bull 76:378-382), with a bootstrap over items.

    Undefined with fewer than two raters, or where no item was rated twice. No interval from the bootstrap where all
    items agree alike.

    Examples
    --------
    >>> percent_agreement([["seen", "seen"], ["seen", "cant_tell"], ["seen", None]]).value
    0.5
    """
    rows = _present(table)
    n_raters = _n_raters(table)
    shares = [_pair_share(row) for row in rows if len(row) >= 2]
    reason = _too_little(n_raters, len(shares))
    if reason:
        return Agreement(value=None, n_items=len(shares), n_raters=n_raters, reason=reason)
    value, n = float(np.mean(shares)), len(shares)
    if n_raters == 2:
        se = sqrt(value * (1 - value) / n) or None  # the formula's 0 at full agreement is no knowledge
        return Agreement(value=value, n_items=n, n_raters=2, se=se, method=Wilson(count=round(sum(shares)), n=n))
    if len(set(shares)) == 1:
        reason = "no interval: all items agree alike, so drawing items again shows no spread"
        return Agreement(value=value, n_items=n, n_raters=n_raters, reason=reason)
    bootstrap = ItemBootstrap(values=tuple(shares))
    spread = float(np.std(bootstrap.draws(), ddof=1))
    return Agreement(value=value, n_items=n, n_raters=n_raters, se=spread, method=bootstrap)


def cohen_kappa(
    table: Table, weights: Weights | None = None, *, categories: Sequence[Rating] | None = None
) -> Agreement:
    """Cohen's kappa of two raters, over the items that both rated.

    With p_observed the share of items on which both agree and p_expected the share expected from how often each rater
    used each category, ``kappa = (p_observed - p_expected) / (1 - p_expected)``. Standard error for large samples
    by Fleiss, Cohen & Everitt 1969 (Psychol Bull 72:323-327), as statsmodels computes it; the interval is cut to -1
    to 1 and too narrow for few items.

    Parameters
    ----------
    table : rows of two ratings
    weights : "linear", "quadratic", a matrix, or None
        A matrix holds weights of disagreement as in Cohen 1968, 0 on its diagonal, in the order of `categories`.
    categories : sequence, needed with weights
        All categories, each once, in their order.

    Returns
    -------
    Agreement
        Undefined with other than two raters, with no item rated by both, and where both used one and the same
        category only ("no variation"). Without an interval where the formula gives a standard error of 0: full
        agreement, or a rater who used one category only, whose kappa is 0 whatever the other said.

    Raises
    ------
    InvalidRatings
        For a rating that is not among `categories`, or rows of different lengths.
    ValueError
        For weights without categories, or a matrix that is no matrix of disagreement for them.

    Examples
    --------
    >>> table = [["a", "a"]] * 20 + [["a", "b"]] * 5 + [["b", "a"]] * 10 + [["b", "b"]] * 15
    >>> round(cohen_kappa(table).value, 6)
    0.4
    """
    matrix = None if weights is None else _disagreement(weights, categories)
    n_raters = _n_raters(table)
    pairs = [row for row in _present(table) if len(row) == 2] if n_raters == 2 else []
    too_many = f"Cohen's kappa compares two raters, got {n_raters}" if n_raters > 2 else None
    reason = too_many or _too_little(n_raters, len(pairs))
    if reason:
        return Agreement(value=None, n_items=0, n_raters=n_raters, reason=reason)
    return _kappa(_counts(pairs, categories), matrix)


def _kappa(counts: NDArray[np.float64], matrix: NDArray[np.float64] | None) -> Agreement:
    n = round(counts.sum())
    disagreement = 1 - np.eye(len(counts)) if matrix is None else matrix
    if not (disagreement * np.outer(counts.sum(axis=1), counts.sum(axis=0))).any():
        alike = "" if matrix is None else ", or in categories that the weights hold alike"
        reason = f"no variation: all ratings fall in one category{alike}"
        return Agreement(value=None, n_items=n, n_raters=2, reason=reason)
    with np.errstate(invalid="ignore", divide="ignore"):  # its test of kappa = 0, unused here, may divide by zero
        result = cohens_kappa(counts, weights=matrix)
    value = round(float(result.kappa), 12)  # 12 decimals: what lies beyond them is rounding dust
    no_interval = _no_interval(counts, float(result.var_kappa))
    if no_interval:
        return Agreement(value=value, n_items=n, n_raters=2, reason=no_interval)
    se = sqrt(float(result.var_kappa))
    method = LargeSample(value=value, se=se, least=-1.0, most=1.0)
    return Agreement(value=value, n_items=n, n_raters=2, se=se, method=method)


def _n_raters(table: Table) -> int:
    lengths = {len(row) for row in table}
    if len(lengths) > 1:
        raise InvalidRatings(f"every item needs one cell for each rater, got rows of {sorted(lengths)} cells")
    return lengths.pop() if lengths else 0


def _present(table: Table) -> list[list[Rating]]:
    # NaN is the one value that differs from itself
    return [[rating for rating in row if rating is not None and rating != "" and rating == rating] for row in table]


def _pair_share(row: Sequence[Rating]) -> float:
    agreeing = sum(comb(row.count(rating), 2) for rating in set(row))
    return agreeing / comb(len(row), 2)


def _too_little(n_raters: int, n_items: int) -> str | None:
    if n_raters < 2:
        return f"agreement needs at least two raters, got {n_raters}"
    return None if n_items else "no item was rated by two raters"


def _counts(pairs: Sequence[Sequence[Rating]], categories: Sequence[Rating] | None) -> NDArray[np.float64]:
    used = dict.fromkeys(rating for pair in pairs for rating in pair)
    place = {category: index for index, category in enumerate(dict.fromkeys(categories or used))}
    unknown = [rating for rating in used if rating not in place]
    if unknown:
        raise InvalidRatings(f"a rating must be one of {', '.join(map(str, place))}, got {unknown[0]}")
    counts = np.zeros((len(place), len(place)))
    for first, second in pairs:
        counts[place[first], place[second]] += 1
    return counts


def _disagreement(weights: Weights, categories: Sequence[Rating] | None) -> NDArray[np.float64]:
    if categories is None or len(set(categories)) != len(categories) or len(categories) < 2:
        raise ValueError("weights need `categories`, two or more, each once and in order")
    apart = np.abs(np.subtract.outer(np.arange(float(len(categories))), np.arange(len(categories))))
    if isinstance(weights, str):
        if weights not in ("linear", "quadratic"):
            raise ValueError(f"weights are linear, quadratic or a matrix, got {weights}")
        matrix = apart if weights == "linear" else apart**2
    else:
        matrix = np.asarray(weights, dtype=float)
    if matrix.shape != apart.shape or not np.isfinite(matrix).all() or (matrix < 0).any() or matrix.trace() != 0:
        raise ValueError("a matrix of disagreement has a row and a column a category, none below 0, 0 on its diagonal")
    if not matrix.any():
        raise ValueError("a matrix of disagreement needs an entry above 0")
    scaled: NDArray[np.float64] = matrix / matrix.max()
    return scaled


def _no_interval(counts: NDArray[np.float64], variance: float) -> str | None:
    if 1 in (np.count_nonzero(counts.sum(axis=0)), np.count_nonzero(counts.sum(axis=1))):
        return "no interval: a rater used one category only, so kappa is 0 whatever the other said"
    if variance > _NO_VARIANCE:
        return None
    return "no interval: the large-sample formula gives a standard error of 0 for such a table"
