"""Intraclass correlation for numbers such as angles: how much of their spread lies between the items.

Models and names of Shrout & Fleiss 1979 (Psychol Bull 86:420-428): 1 = other raters for each item, 2 = the same raters, a
sample of many, 3 = the same raters, these alone, so that a rater who always reads wide does not count against agreement.
"1" is for one rater's reading, "k" for the mean of all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f

from rubric.agreement.coding import Rating, numbers, too_little
from rubric.estimates import Agreement
from rubric.said import Said

IccName = Literal["icc_1_1", "icc_2_1", "icc_3_1", "icc_1_k", "icc_2_k", "icc_3_k"]
ICC_NAMES: tuple[IccName, ...] = ("icc_1_1", "icc_2_1", "icc_3_1", "icc_1_k", "icc_2_k", "icc_3_k")

#: An end of an interval beyond it says nothing: there the formulas divide by next to nothing.
_FARTHEST = 1e6

NumberTable = Sequence[Sequence[Rating]] | NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class MeanSquares:
    """The analysis of variance of n items by k raters, one reading each, without blanks.

    Parameters
    ----------
    n, k : int
    items, raters, residual, within : float
        Mean squares, in the square of the readings' unit: between items, between raters, what neither explains, and
        within items (raters and residual together).
    """

    n: int
    k: int
    items: float
    raters: float
    residual: float
    within: float


def mean_squares(complete: NDArray[np.float64]) -> MeanSquares:
    """Mean squares of an array of shape (items, raters), both at least 2, without NaN."""
    n, k = complete.shape
    centred = complete - complete.mean()
    of_items, of_raters = centred.mean(axis=1), centred.mean(axis=0)
    residual = centred - of_items[:, None] - of_raters
    dust = (64 * np.finfo(float).eps * np.abs(complete).max()) ** 2  # rounding; what lies below it is zero
    squares = [
        k * (of_items**2).sum() / (n - 1),
        n * (of_raters**2).sum() / (k - 1),
        (residual**2).sum() / ((n - 1) * (k - 1)),
        ((centred - of_items[:, None]) ** 2).sum() / (n * (k - 1)),
    ]
    items, raters, left, within = (0.0 if square <= dust else float(square) for square in squares)
    return MeanSquares(n=n, k=k, items=items, raters=raters, residual=left, within=within)


def icc(table: NumberTable, name: IccName) -> Agreement:
    """An intraclass correlation with its interval from the F distribution.

    Parameters
    ----------
    table : rows of numbers, a row an item and a column a rater
        Only items that all raters read enter, as the analysis of variance needs it.
    name : "icc_1_1", "icc_2_1", "icc_3_1", "icc_1_k", "icc_2_k" or "icc_3_k"

    Returns
    -------
    Agreement
        At most 1, and below 0 where raters part more on one item than items part. Undefined with fewer than two raters or
        two complete items, where all readings are the same, and for the mean of k where the items do not differ. No
        interval where nothing is left unexplained (the value is 1), or where the items differ too little for the formula.

    Examples
    --------
    >>> round(icc([[90, 95], [120, 118], [60, 66], [105, 101]], "icc_2_1").value, 3)
    0.982
    """
    if name not in ICC_NAMES:
        raise ValueError(f"one of {', '.join(ICC_NAMES)}, got {name}")
    values = numbers(table)
    n_raters, complete = values.shape[1], values[~np.isnan(values).any(axis=1)]
    reason = too_little(n_raters, len(values)) or _too_few(len(complete))
    if reason:
        return Agreement(value=None, n_items=len(complete), n_raters=n_raters, reason=reason)
    squares = mean_squares(complete)
    value, reason = _estimate(squares, name)
    if reason or value is None:
        return Agreement(value=None, n_items=squares.n, n_raters=n_raters, reason=reason)
    if (squares.within if name.startswith("icc_1") else squares.residual) == 0:
        reason = Said("no interval: nothing is left unexplained")
        return Agreement(value=value, n_items=squares.n, n_raters=n_raters, reason=reason)
    method = _FInterval(squares=squares, name=name)
    if squares.items == 0 or not all(abs(end) < _FARTHEST for end in method.ends(0.95)):
        reason = Said("no interval: the items differ too little from each other")
        return Agreement(value=value, n_items=squares.n, n_raters=n_raters, reason=reason)
    return Agreement(value=value, n_items=squares.n, n_raters=n_raters, method=method)


def _too_few(n_complete: int) -> str | None:
    if n_complete >= 2:
        return None
    return Said("an intraclass correlation needs two or more items that all raters read, got {n}", n=n_complete)


def _estimate(ms: MeanSquares, name: IccName) -> tuple[float | None, str | None]:
    if ms.items == ms.within == 0:
        return None, Said("no variation: all readings are the same")
    n, k = ms.n, ms.k
    above = ms.items - (ms.within if name.startswith("icc_1") else ms.residual)
    below = {
        "icc_1_1": ms.items + (k - 1) * ms.within,
        "icc_2_1": ms.items + (k - 1) * ms.residual + k * (ms.raters - ms.residual) / n,
        "icc_3_1": ms.items + (k - 1) * ms.residual,
        "icc_1_k": ms.items,
        "icc_2_k": ms.items + (ms.raters - ms.residual) / n,
        "icc_3_k": ms.items,
    }[name]
    if below <= 0:
        return None, Said("the items do not differ, so there is nothing for raters to agree on")
    return above / below, None


@dataclass(frozen=True, kw_only=True)
class _FInterval:
    """Shrout & Fleiss 1979; for the second model with Satterthwaite's degrees of freedom, as they give them."""

    squares: MeanSquares
    name: IccName

    def ends(self, level: float) -> tuple[float, float]:
        """Low and high, low <= high."""
        tail, ms = (1 + level) / 2, self.squares
        if self.name.startswith("icc_2"):
            low, high = self._second_model(tail)
            return (low, high) if self.name == "icc_2_1" else (_of_mean(low, ms.k), _of_mean(high, ms.k))
        first = self.name.startswith("icc_1")
        rest, rest_df = (ms.within, ms.n * (ms.k - 1)) if first else (ms.residual, (ms.n - 1) * (ms.k - 1))
        ratio = ms.items / rest
        smallest = ratio / float(f.ppf(tail, ms.n - 1, rest_df))
        largest = ratio * float(f.ppf(tail, rest_df, ms.n - 1))
        if self.name.endswith("k"):
            return 1 - 1 / smallest, 1 - 1 / largest
        return (smallest - 1) / (smallest + ms.k - 1), (largest - 1) / (largest + ms.k - 1)

    def _second_model(self, tail: float) -> tuple[float, float]:
        ms, n, k = self.squares, self.squares.n, self.squares.k
        value = _estimate(ms, "icc_2_1")[0] or 0.0
        ratio = ms.raters / ms.residual
        mixed = n * (1 + (k - 1) * value) - k * value
        above = (k - 1) * (n - 1) * (k * value * ratio + mixed) ** 2
        df = above / ((n - 1) * (k * value * ratio) ** 2 + mixed**2)
        upper, lower = float(f.ppf(tail, n - 1, df)), float(f.ppf(tail, df, n - 1))
        spread = k * ms.raters + (k * n - k - n) * ms.residual
        low = n * (ms.items - upper * ms.residual) / (upper * spread + n * ms.items)
        high = n * (lower * ms.items - ms.residual) / (spread + n * lower * ms.items)
        return low, high


def _of_mean(one: float, k: int) -> float:
    below = 1 + one * (k - 1)
    return one * k / below if below > 0 else -inf
