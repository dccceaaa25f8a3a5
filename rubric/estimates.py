"""The result of a statistic of agreement, and the ways to its interval, each of which can be asked at any level."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from math import inf
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm, t
from statsmodels.stats.proportion import proportion_confint

#: Draws of a bootstrap, and how many items are drawn at once and in all.
_N_DRAWS, _CHUNK, _MOST_DRAWN = 2000, 2_000_000, 400_000_000
#: Up to so many kinds of items, how often each comes is drawn at once.
_FEW_KINDS = 200


class IntervalMethod(Protocol):
    """Gives the ends of the interval at a level such as 0.95."""

    def ends(self, level: float) -> tuple[float, float]:
        """Low and high, low <= high."""


@dataclass(frozen=True, kw_only=True)
class LargeSample:
    """Value ± z·se, cut at what the statistic can reach; for many items, too narrow for few.

    With `df`, Student's t with that many degrees of freedom stands in for the normal distribution.
    """

    value: float
    se: float
    least: float = -inf
    most: float = inf
    df: float | None = None

    def ends(self, level: float) -> tuple[float, float]:
        """Low and high, low <= high."""
        tail = (1 + level) / 2
        reach = float(norm.ppf(tail) if self.df is None else t.ppf(tail, self.df)) * self.se
        return max(self.least, self.value - reach), min(self.most, self.value + reach)


@dataclass(frozen=True, kw_only=True)
class Wilson:
    """The interval of a share that Wilson gave (1927, J Am Stat Assoc 22:209-212); never empty, not even at 0 or n."""

    count: int
    n: int

    def ends(self, level: float) -> tuple[float, float]:
        """Low and high, low <= high."""
        low, high = proportion_confint(self.count, self.n, alpha=1 - level, method="wilson")
        share = self.count / self.n
        return min(float(low), share), max(float(high), share)  # at 0 and n, rounding may leave the share outside


@lru_cache(maxsize=32)
def _means_of_draws(values: tuple[float, ...], n_draws: int, seed: int) -> NDArray[np.float64]:
    # items with the same value are alike: drawing how often each value comes is the same, and needs little memory
    distinct, counts = np.unique(np.asarray(values), return_counts=True)
    times = np.random.default_rng(seed).multinomial(len(values), counts / len(values), size=n_draws)
    means: NDArray[np.float64] = times @ distinct / len(values)
    means.flags.writeable = False  # it is handed out again
    return means


@dataclass(frozen=True, kw_only=True)
class ItemBootstrap:
    """Percentiles of the mean over items drawn again with replacement; the seed is fixed, so a table has one interval.

    Parameters
    ----------
    values : tuple of float
        One value an item.
    """

    values: tuple[float, ...]
    n_draws: int = 2000
    seed: int = 20_260_101

    def draws(self) -> NDArray[np.float64]:
        """The mean of each draw, shape (n_draws,)."""
        return _means_of_draws(self.values, self.n_draws, self.seed)

    def ends(self, level: float) -> tuple[float, float]:
        """Low and high, low <= high."""
        low, high = np.quantile(self.draws(), [(1 - level) / 2, (1 + level) / 2])
        return float(low), float(high)


@dataclass(frozen=True, kw_only=True)
class Draws:
    """Percentiles of a statistic over items drawn again with replacement.

    Parameters
    ----------
    draws : tuple of float
        The statistic of each draw.
    """

    draws: tuple[float, ...] = field(repr=False)

    def ends(self, level: float) -> tuple[float, float]:
        """Low and high, low <= high."""
        low, high = np.quantile(self.draws, [(1 - level) / 2, (1 + level) / 2])
        return float(low), float(high)


def draw_chunks(alike: NDArray[np.int64], seed: int = 20_260_101) -> Iterator[NDArray[np.float64]]:
    """How often each kind of item comes in each draw of all items with replacement; the same at every call.

    Parameters
    ----------
    alike : array of int, shape (kinds,)
        How many items are of each kind: alike items need not be told apart.

    Yields
    ------
    array of float, shape (draws, kinds)
        2000 draws in all, in chunks that memory holds; fewer, at least 200, for hundreds of thousands of kinds.
    """
    n_items, n_kinds = int(alike.sum()), len(alike)
    rng = np.random.default_rng(seed)
    if n_kinds <= _FEW_KINDS:
        yield rng.multinomial(n_items, alike / n_items, size=_N_DRAWS).astype(np.float64)
        return
    kind_of_item = np.repeat(np.arange(n_kinds, dtype=np.int64), alike)
    n_draws = min(_N_DRAWS, max(200, _MOST_DRAWN // n_items))
    chunk = max(1, _CHUNK // n_items)
    for start in range(0, n_draws, chunk):
        n = min(chunk, n_draws - start)
        drawn = kind_of_item[rng.integers(n_items, size=(n, n_items), dtype=np.int32)]
        drawn += np.arange(n)[:, None] * n_kinds
        yield np.bincount(drawn.ravel(), minlength=n * n_kinds).reshape(n, n_kinds).astype(np.float64)


@dataclass(frozen=True, kw_only=True)
class Interval:
    """Both ends, or None twice where there is no interval."""

    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class Agreement:
    """One statistic of agreement.

    Parameters
    ----------
    value : float or None
        1 is full agreement; None where it is undefined.
    n_items : int
        Items that entered: those with ratings by at least two raters.
    n_raters : int
        Columns of the table.
    se : float or None
        Standard error, where one is known.
    se_h0 : float or None
        Standard error where the raters agree by chance only, for a test of that; where one is published.
    reason : str or None
        Why the value, or only its interval, is missing; None where neither is.
    method : IntervalMethod or None
        Where the interval comes from.
    """

    value: float | None
    n_items: int
    n_raters: int
    se: float | None = None
    se_h0: float | None = None
    reason: str | None = None
    method: IntervalMethod | None = field(default=None, repr=False)

    def interval(self, level: float = 0.95) -> Interval:
        """The confidence interval at that level, 0 < level < 1.

        >>> Agreement(value=0.7, n_items=10, n_raters=2, method=Wilson(count=7, n=10)).interval(0.95)
        Interval(low=0.3967..., high=0.8922...)
        """
        if not 0 < level < 1:
            raise ValueError(f"a level lies between 0 and 1, got {level}")
        if self.value is None or self.method is None:
            return Interval(low=None, high=None)
        low, high = self.method.ends(level)
        return Interval(low=low, high=high)

    @property
    def low(self) -> float | None:
        """Lower end of the 95 % interval."""
        return self.interval().low

    @property
    def high(self) -> float | None:
        """Upper end of the 95 % interval."""
        return self.interval().high
