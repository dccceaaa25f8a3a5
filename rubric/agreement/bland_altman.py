"""Bland-Altman: by how much two raters' numbers differ, and between which limits most differences lie."""

from dataclasses import dataclass
from math import sqrt

import numpy as np

from rubric.agreement.coding import numbers, too_little
from rubric.agreement.icc import NumberTable
from rubric.estimates import Agreement, LargeSample
from rubric.said import Said


@dataclass(frozen=True, kw_only=True)
class BlandAltman:
    """Bias and limits of agreement, in the unit of the readings; each with its own interval.

    Parameters
    ----------
    bias : Agreement
        Mean of first minus second; 0 is full agreement, unlike the other statistics.
    lower, upper : Agreement
        Limits between which about 95 % of differences are expected.
    sd : float or None
        Standard deviation of the differences; None with fewer than two.
    """

    bias: Agreement
    lower: Agreement
    upper: Agreement
    sd: float | None


def bland_altman(table: NumberTable, *, multiple: float = 1.96) -> BlandAltman:
    """Compare two raters' readings of the same items.

    With d the differences, s their standard deviation: ``limits = mean(d) ± multiple * s``. Standard errors as in Bland &
    Altman 1986 (Lancet i:307-310): ``s / sqrt(n)`` for the bias and ``sqrt(3 / n) * s`` for a limit, the intervals with
    Student's t. That holds for differences which do not grow with what is read and are about normal.

    Undefined with other than two raters or no item read by both; limits and intervals with fewer than two items. No
    intervals where all differences are the same.

    Examples
    --------
    >>> result = bland_altman([[100, 96], [120, 121], [90, 84], [110, 107]])
    >>> result.bias.value, round(result.lower.value, 2), round(result.upper.value, 2)
    (3.0, -2.77, 8.77)
    """
    values = numbers(table)
    n_raters = values.shape[1]
    too_many = f"Bland-Altman compares two raters, got {n_raters}" if n_raters > 2 else None
    difference = values[:, 0] - values[:, 1] if n_raters == 2 else np.empty(0)
    difference = difference[~np.isnan(difference)]
    reason = too_many or too_little(n_raters, len(difference))
    if reason:
        nothing = Agreement(value=None, n_items=0, n_raters=n_raters, reason=reason)
        return BlandAltman(bias=nothing, lower=nothing, upper=nothing, sd=None)
    return _from_differences(difference.tolist(), multiple)


def _from_differences(difference: list[float], multiple: float) -> BlandAltman:
    n, bias = len(difference), float(np.mean(difference))
    if n < 2:
        alone = Agreement(value=bias, n_items=n, n_raters=2, reason=Said("no interval: one item only"))
        unknown = Agreement(value=None, n_items=n, n_raters=2, reason=Said("limits need two or more items, got 1"))
        return BlandAltman(bias=alone, lower=unknown, upper=unknown, sd=None)
    sd = float(np.std(difference, ddof=1))
    if max(difference) == min(difference):
        sd = 0.0
    return BlandAltman(
        bias=_with_t(bias, sd / sqrt(n), n),
        lower=_with_t(bias - multiple * sd, sd * sqrt(3 / n), n),
        upper=_with_t(bias + multiple * sd, sd * sqrt(3 / n), n),
        sd=sd,
    )


def _with_t(value: float, se: float, n: int) -> Agreement:
    if se == 0:
        reason = Said("no interval: all differences are the same")
        return Agreement(value=value, n_items=n, n_raters=2, reason=reason)
    method = LargeSample(value=value, se=se, df=n - 1)
    return Agreement(value=value, n_items=n, n_raters=2, se=se, method=method)
