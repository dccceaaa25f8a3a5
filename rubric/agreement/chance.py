"""Agreement of several raters beyond chance: Fleiss' kappa and Gwet's AC1.

Both take the observed agreement of pairs, ``p_observed``, and differ in what chance would give, ``p_expected``; then
``(p_observed - p_expected) / (1 - p_expected)``. With blanks both follow Gwet 2014 (Handbook of inter-rater reliability,
4th ed.): ``p_observed`` over the items with two or more ratings; the share of each category, ``pi``, as the mean over
all rated items of the share of their ratings in it. Without blanks that is Fleiss' own statistic (1971).

The standard error treats the items as drawn and the raters as given, by linearisation (Gwet 2008, Br J Math Stat
Psychol 61:29-48; for kappa Gwet 2021, Educ Psychol Meas 81:781-790, both from memory), the interval takes Student's t. For
two raters the published form divides by n where that for more divides by n - 1.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from rubric.agreement.coding import CodedTable, Rating, Table, coded, too_little
from rubric.estimates import Agreement, LargeSample
from rubric.said import Said

#: Standard errors below it are rounding dust of zero.
_NO_SPREAD = 1e-12

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Expected:
    """Chance agreement, and each item's part in it, shape (items,), whose mean it is."""

    value: float
    by_item: Floats


def fleiss_kappa(table: Table | CodedTable) -> Agreement:
    """Fleiss' kappa: chance is that two ratings drawn at random from all fall into one category, ``sum(pi**2)``.

    Returns
    -------
    Agreement
        `se_h0` as in Fleiss, Nee & Landis 1979 (Psychol Bull 86:974-977) where every item has equally many ratings.
        Undefined with fewer than two raters, no item rated twice, or all ratings in one category ("no variation").
        Without an interval for fewer than two items or where the items show no spread, as at full agreement.

    Examples
    --------
    >>> round(fleiss_kappa([["a", "a", "b"], ["b", "b", "b"], ["a", "a", "a"]]).value, 4)
    0.55
    """
    ratings = coded(table)
    result = _beyond_chance(ratings, _fleiss_expected, Said("no variation: all ratings fall in one category"))
    if result.value is None:
        return result
    return Agreement(
        value=result.value,
        n_items=result.n_items,
        n_raters=result.n_raters,
        se=result.se,
        se_h0=_se_by_chance(ratings.counts()),
        reason=result.reason,
        method=result.method,
    )


def gwet_ac1(table: Table | CodedTable, *, categories: Sequence[Rating] | None = None) -> Agreement:
    """Gwet's AC1: chance is ``sum(pi * (1 - pi)) / (q - 1)`` for q categories, small where one is nearly always chosen.

    Parameters
    ----------
    table : rows of ratings, or codes
    categories : sequence or None
        All q categories that could be chosen. None counts those that were chosen, as programs commonly do; a
        CodedTable names all its own.

    Returns
    -------
    Agreement
        Undefined with fewer than two raters, no item rated twice, or fewer than two categories; so one category chosen
        by all is 1 where `categories` names others, else undefined. Without an interval as for `fleiss_kappa`.

    Examples
    --------
    >>> round(gwet_ac1([["a", "a", "b"], ["b", "b", "b"], ["a", "a", "a"]]).value, 4)
    0.561
    >>> gwet_ac1([["seen", "seen"]] * 2, categories=("seen", "not_seen", "cant_tell")).value
    1.0
    """
    ratings = coded(table, categories)
    n_categories = len(ratings.categories)
    reason = Said("no variation: all ratings fall in one category, and no other is known")
    return _beyond_chance(ratings, lambda shares, pi: _gwet_expected(shares, pi, n_categories), reason)


def _beyond_chance(
    ratings: CodedTable, expected_by: Callable[[Floats, Floats], _Expected | None], no_variation: str
) -> Agreement:
    counts = ratings.counts()
    counts = counts[counts.sum(axis=1) > 0]
    n = counts.sum(axis=1)
    n_twice = int((n >= 2).sum())
    reason = too_little(ratings.n_raters, n_twice)
    expected = None
    if not reason:
        shares = counts / n[:, None]
        expected = expected_by(shares, shares.mean(axis=0))
        reason = None if expected and expected.value < 1 - _NO_SPREAD else no_variation
    if reason or expected is None:
        return Agreement(value=None, n_items=n_twice, n_raters=ratings.n_raters, reason=reason)
    by_item = _agreement_by_item(counts, n)
    value = (by_item.sum() / n_twice - expected.value) / (1 - expected.value)
    se = _linearised_se(by_item, n >= 2, value, expected, n_raters=ratings.n_raters)
    if se is None or se < _NO_SPREAD:
        reason = Said("no interval: the items show no spread") if se is not None else Said("no interval: one item only")
        return Agreement(value=_tidy(value), n_items=n_twice, n_raters=ratings.n_raters, reason=reason)
    method = LargeSample(value=value, se=se, most=1.0, df=len(n) - 1)
    return Agreement(value=_tidy(value), n_items=n_twice, n_raters=ratings.n_raters, se=se, method=method)


def _tidy(value: float) -> float:
    return round(float(value), 12)  # what lies beyond 12 decimals is rounding dust


def _agreement_by_item(counts: NDArray[np.int64], n: NDArray[np.int64]) -> Floats:
    pairs = np.where(n >= 2, n * (n - 1), 1)
    by_item: Floats = (counts * (counts - 1)).sum(axis=1) / pairs
    return by_item


def _linearised_se(
    by_item: Floats, twice: NDArray[np.bool_], value: float, expected: _Expected, *, n_raters: int
) -> float | None:
    """Each item's pull on the statistic, through observed and expected agreement, and the standard error of their mean."""
    n = len(by_item)
    if n < 2:
        return None
    beyond = 1 - expected.value
    own = n / twice.sum() * (by_item - expected.value * twice) / beyond
    pull = own - 2 * (1 - value) * (expected.by_item - expected.value) / beyond
    return sqrt(((pull - value) ** 2).sum() / (n * (n if n_raters == 2 else n - 1)))


def _fleiss_expected(shares: Floats, pi: Floats) -> _Expected:
    return _Expected(value=float((pi**2).sum()), by_item=shares @ pi)


def _gwet_expected(shares: Floats, pi: Floats, n_categories: int) -> _Expected | None:
    if n_categories < 2:
        return None
    by_item = shares @ (1 - pi) / (n_categories - 1)
    return _Expected(value=float((pi * (1 - pi)).sum() / (n_categories - 1)), by_item=by_item)


def _se_by_chance(counts: NDArray[np.int64]) -> float | None:
    n = counts.sum(axis=1)
    if (n != n[0]).any():
        return None
    n_items, m = len(n), int(n[0])
    p = counts.sum(axis=0) / counts.sum()
    spread = float((p * (1 - p)).sum())
    skew = float((p * (1 - p) * (1 - 2 * p)).sum())
    return sqrt(2 * max(0.0, spread**2 - skew)) / (spread * sqrt(n_items * m * (m - 1)))
