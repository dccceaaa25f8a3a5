"""The standard error of measurement, and the smallest change that it does not explain.

In the unit of the readings. *Consistency* leaves out that one rater reads wider than another throughout, *agreement*
counts it (de Vet, Terwee, Knol & Bouter 2006, J Clin Epidemiol 59:1033-1039, from memory).
"""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from rubric.agreement.coding import numbers, too_little
from rubric.agreement.icc import NumberTable, mean_squares
from rubric.estimates import Agreement, Draws, IntervalMethod, draw_chunks
from rubric.said import Said

Kind = Literal["agreement", "consistency"]

#: Two readings differ by more than this many standard errors of measurement in 1 of 20 cases without any change.
_SDC = 1.959963984540054 * sqrt(2)


def standard_error_of_measurement(table: NumberTable, kind: Kind = "agreement") -> Agreement:
    """The standard deviation of repeated readings of one item, from items that all raters read.

    With the mean squares of items by raters: consistency ``sqrt(residual)``, with its interval from the chi-squared
    distribution; agreement ``sqrt(residual + max(0, (raters - residual) / n))``, with a bootstrap over items.

    Undefined with fewer than two raters or two complete items. No interval where it is 0.

    Examples
    --------
    >>> round(standard_error_of_measurement([[90, 95], [120, 118], [60, 66], [105, 101]]).value, 2)
    3.53
    """
    return _measurement_error(table, kind, factor=1.0)


def smallest_detectable_change(table: NumberTable, kind: Kind = "agreement") -> Agreement:
    """The difference of two single readings that 95 % of pairs without any change stay below: 1.96·√2·SEM.

    Examples
    --------
    >>> round(smallest_detectable_change([[90, 95], [120, 118], [60, 66], [105, 101]]).value, 2)
    9.78
    """
    return _measurement_error(table, kind, factor=_SDC)


def _measurement_error(table: NumberTable, kind: Kind, factor: float) -> Agreement:
    if kind not in ("agreement", "consistency"):
        raise ValueError(f"agreement or consistency, got {kind}")
    values = numbers(table)
    n_raters, complete = values.shape[1], values[~np.isnan(values).any(axis=1)]
    told = Said("this needs two or more items that all raters read, got {n}", n=len(complete))
    few = None if len(complete) >= 2 else told
    reason = too_little(n_raters, len(values)) or few
    if reason:
        return Agreement(value=None, n_items=len(complete), n_raters=n_raters, reason=reason)
    ms = mean_squares(complete)
    square = ms.residual if kind == "consistency" else ms.residual + max(0.0, (ms.raters - ms.residual) / ms.n)
    value = factor * sqrt(square)
    if value == 0:
        reason = Said("no interval: the readings do not differ at all")
        return Agreement(value=0.0, n_items=ms.n, n_raters=n_raters, reason=reason)
    method: IntervalMethod
    if kind == "consistency":
        method = _ChiSquared(value=value, df=(ms.n - 1) * (ms.k - 1))
    else:
        method = Draws(draws=tuple((factor * _drawn(complete)).tolist()))
    return Agreement(value=value, n_items=ms.n, n_raters=n_raters, method=method)


def _drawn(complete: NDArray[np.float64]) -> NDArray[np.float64]:
    """SEM (agreement) of items drawn again: raters' means and each item's spread within are sums over items."""
    n, k = complete.shape
    centred = complete - complete.mean(axis=1, keepdims=True)
    each = (centred**2).sum(axis=1)
    sems = []
    for times in draw_chunks(np.ones(n, dtype=np.int64)):
        of_raters = (times @ centred / n) ** 2
        raters = n * of_raters.sum(axis=1) / (k - 1)
        residual = (times @ each - n * of_raters.sum(axis=1)) / ((n - 1) * (k - 1))
        square = residual + np.maximum(0.0, (raters - residual) / n)
        sems.append(np.sqrt(np.maximum(square, 0.0)))
    return np.concatenate(sems)


@dataclass(frozen=True, kw_only=True)
class _ChiSquared:
    """The interval of a standard deviation of normal errors."""

    value: float
    df: int

    def ends(self, level: float) -> tuple[float, float]:
        """Low and high, low <= high."""
        small, large = chi2.ppf([(1 - level) / 2, (1 + level) / 2], self.df)
        return self.value * sqrt(self.df / large), self.value * sqrt(self.df / small)
