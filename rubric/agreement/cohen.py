"""Cohen's kappa of two raters, plain and weighted."""

from collections.abc import Sequence
from math import sqrt
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from statsmodels.stats.inter_rater import cohens_kappa

from rubric.agreement.coding import BLANK, CodedTable, Rating, Table, coded, too_little
from rubric.estimates import Agreement, LargeSample
from rubric.said import Said

Weights = Literal["linear", "quadratic"] | Sequence[Sequence[float]]

#: Variances below it are rounding dust of zero.
_NO_VARIANCE = 1e-14


def cohen_kappa(
    table: Table | CodedTable, weights: Weights | None = None, *, categories: Sequence[Rating] | None = None
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
    ratings = coded(table, categories)
    n_raters = ratings.n_raters
    pairs = ratings.codes[(ratings.codes != BLANK).all(axis=1)] if n_raters == 2 else ratings.codes[:0]
    too_many = Said("Cohen's kappa compares two raters, got {n}", n=n_raters) if n_raters > 2 else None
    reason = too_many or too_little(n_raters, len(pairs))
    if reason:
        return Agreement(value=None, n_items=0, n_raters=n_raters, reason=reason)
    if matrix is None:  # categories that neither used change nothing
        used, codes = np.unique(pairs, return_inverse=True)
        return _kappa(_counts(codes.reshape(pairs.shape), len(used)), None)
    return _kappa(_counts(pairs, len(ratings.categories)), matrix)


def _kappa(counts: NDArray[np.float64], matrix: NDArray[np.float64] | None) -> Agreement:
    n = round(counts.sum())
    disagreement = 1 - np.eye(len(counts)) if matrix is None else matrix
    if not (disagreement * np.outer(counts.sum(axis=1), counts.sum(axis=0))).any():
        one, alike = (
            Said("no variation: all ratings fall in one category"),
            Said("no variation: all ratings fall in one category, or in categories that the weights hold alike"),
        )
        reason = one if matrix is None else alike
        return Agreement(value=None, n_items=n, n_raters=2, reason=reason)
    with np.errstate(invalid="ignore", divide="ignore"):  # its test of kappa = 0, unused here, may divide by zero
        result = cohens_kappa(counts, weights=matrix)
    value = round(float(result.kappa), 12)  # 12 decimals: what lies beyond them is rounding dust
    no_interval = _no_interval(counts, float(result.var_kappa))
    if no_interval:
        return Agreement(value=value, n_items=n, n_raters=2, reason=no_interval)
    se, se_h0 = sqrt(float(result.var_kappa)), sqrt(float(result.var_kappa0))
    method = LargeSample(value=value, se=se, least=-1.0, most=1.0)
    return Agreement(value=value, n_items=n, n_raters=2, se=se, se_h0=se_h0, method=method)


def _counts(pairs: NDArray[np.signedinteger[Any]], n_categories: int) -> NDArray[np.float64]:
    place = pairs[:, 0].astype(int) * n_categories + pairs[:, 1]
    square = np.bincount(place, minlength=n_categories**2).reshape(n_categories, n_categories)
    return square.astype(np.float64)


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
        return Said("no interval: a rater used one category only, so kappa is 0 whatever the other said")
    if variance > _NO_VARIANCE:
        return None
    return Said("no interval: the large-sample formula gives a standard error of 0 for such a table")
