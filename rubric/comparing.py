"""Means of answers that hang together, one against the rest, and many tests at once.

Answers of one student hang together, and so do answers about one photo. Their means get standard errors clustered both ways
(Cameron, Gelbach & Miller 2011, J Bus Econ Stat 29:238-249, from memory): the variance over students plus that over photos
less that of the single answers, never less than either, with Student's t on as many degrees of freedom as the smaller number
of clusters less one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f, t

Floats = NDArray[np.float64]

#: With fewer clusters a spread says too little; nothing is tested.
FEWEST_CLUSTERS = 5


@dataclass(frozen=True, kw_only=True, eq=False)
class Estimates:
    """Estimates of several things at once, each array of shape (things,); NaN where there is too little.

    Parameters
    ----------
    value, low, high : array of float
        With 95 % intervals.
    p_value : array of float
        Of the two-sided test against 0; 1 where there is too little to test.
    n : array of int
        Single answers that entered.
    """

    value: Floats
    low: Floats
    high: Floats
    p_value: Floats
    n: NDArray[np.int64]


def one_against_rest(values: Floats, *, least_se: float = 0.0, share_spread: bool = False) -> Estimates:
    """How much each thing's mean lies above the others', compared within the same cells.

    A cell is what is held equal: to compare items, one student's answers about one photo, so that neither a careful student
    nor a difficult photo can make an item look different.

    Parameters
    ----------
    values : array of float, shape (clusters, clusters of another kind, things)
        NaN where missing. With one cluster of the other kind only the first kind counts.
    least_se : float
        A floor for the standard error, times one over the number of clusters: a spread of 0 among few answers is luck.
    share_spread : bool
        As in `clustered_means`.

    Examples
    --------
    >>> wrong = np.zeros((20, 20, 3))
    >>> wrong[:, ::2, 0] = 1
    >>> one_against_rest(wrong).value.round(2).tolist()
    [0.5, -0.25, -0.25]
    """
    present = ~np.isnan(values)
    held = np.where(present, values, 0.0)
    n_here = present.sum(axis=2, keepdims=True)
    others = (held.sum(axis=2, keepdims=True) - held) / np.maximum(n_here - 1, 1)
    present = present & (n_here >= 2)
    return clustered_means(np.where(present, held - others, np.nan), least_se=least_se, share_spread=share_spread)


def clustered_means(values: Floats, *, least_se: float = 0.0, share_spread: bool = False) -> Estimates:
    """The mean of each thing over both kinds of clusters; parameters as in `one_against_rest`.

    Parameters
    ----------
    share_spread : bool
        The things' spreads are alike, so the standard error is the larger of a thing's own and the
        common one, with the common one's many degrees of freedom; where a thing's own spread is clearly the larger (F test at
        1 in 20), with its own few.
    """
    present = ~np.isnan(values)
    n = present.sum(axis=(0, 1))
    value = np.where(present, values, 0.0).sum(axis=(0, 1)) / np.maximum(n, 1)
    off = np.where(present, values - value, 0.0)
    first, n_first = _variance(off.sum(axis=1), present.any(axis=1))
    second, n_second = _variance(off.sum(axis=0), present.any(axis=0))
    if values.shape[1] == 1:
        variance, clusters = first, n_first
    else:
        both = first + second - (off**2).sum(axis=(0, 1))
        variance, clusters = np.maximum(both, np.maximum(first, second)), np.minimum(n_first, n_second)
    df = np.maximum(clusters - 1, 1)
    if share_spread:
        variance, df = _with_common(variance, clusters, df)
    se = np.maximum(np.sqrt(variance) / np.maximum(n, 1), least_se / np.maximum(clusters, 1))
    return _estimates(value, se, df, clusters >= FEWEST_CLUSTERS, n)


def _with_common(
    variance: Floats, clusters: NDArray[np.int64], df: NDArray[np.int64]
) -> tuple[Floats, NDArray[np.int64]]:
    """Variances of sums, taken as the common spread of one cluster times their number where that is larger."""
    of_one = variance / np.maximum(clusters, 1)
    common_df = int(df[clusters > 1].sum())
    common = float((of_one * df)[clusters > 1].sum()) / max(common_df, 1)
    clearly_larger = of_one > common * f.ppf(0.95, df, max(common_df, 1))
    return np.maximum(variance, common * clusters), np.where(clearly_larger, df, max(common_df, 1))


def _variance(sums: Floats, has_any: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.int64]]:
    clusters = has_any.sum(axis=0)
    return (sums**2).sum(axis=0) * clusters / np.maximum(clusters - 1, 1), clusters


def _estimates(
    value: Floats, se: Floats, df: NDArray[np.int64], enough: NDArray[np.bool_], n: NDArray[np.int64]
) -> Estimates:
    reach = np.where(enough, t.ppf(0.975, df) * se, np.nan)
    distance = np.divide(np.abs(value), se, out=np.where(value == 0, 0.0, np.inf), where=se > 0)
    p_value = np.where(enough, 2 * t.sf(distance, df), 1.0)
    told = np.where(n > 0, value, np.nan)
    return Estimates(value=told, low=told - reach, high=told + reach, p_value=p_value, n=n)


def holm(p_values: Floats) -> Floats:
    """P values adjusted for their number (Holm 1979, Scand J Stat 6:65-70): among those below a level, a false one is as
    rare as the level says, however they hang together.

    Examples
    --------
    >>> holm(np.array([0.01, 0.04, 0.03])).round(2).tolist()
    [0.03, 0.06, 0.06]
    """
    order = np.argsort(p_values, kind="stable")
    steps = p_values[order] * np.arange(len(p_values), 0, -1)
    adjusted = np.empty(len(p_values))
    adjusted[order] = np.minimum(np.maximum.accumulate(steps), 1.0)
    return adjusted
