"""Percent agreement: the share of agreeing pairs of raters."""

from math import sqrt

import numpy as np
from numpy.typing import NDArray

from rubric.agreement.coding import CodedTable, Table, coded, too_little
from rubric.estimates import Agreement, ItemBootstrap, Wilson
from rubric.said import Said


def percent_agreement(table: Table | CodedTable) -> Agreement:
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
    ratings = coded(table)
    n_raters, shares = ratings.n_raters, pair_shares(ratings.counts())
    reason = too_little(n_raters, len(shares))
    if reason:
        return Agreement(value=None, n_items=len(shares), n_raters=n_raters, reason=reason)
    value, n = float(shares.mean()), len(shares)
    if n_raters == 2:
        se = sqrt(value * (1 - value) / n) or None  # the formula's 0 at full agreement is no knowledge
        return Agreement(value=value, n_items=n, n_raters=2, se=se, method=Wilson(count=round(shares.sum()), n=n))
    if (shares == shares[0]).all():
        reason = Said("no interval: all items agree alike, so drawing items again shows no spread")
        return Agreement(value=value, n_items=n, n_raters=n_raters, reason=reason)
    bootstrap = ItemBootstrap(values=tuple(shares.tolist()))
    spread = float(np.std(bootstrap.draws(), ddof=1))
    return Agreement(value=value, n_items=n, n_raters=n_raters, se=spread, method=bootstrap)


def pair_shares(counts: NDArray[np.int64]) -> NDArray[np.float64]:
    """For each item with at least two ratings, the share of its pairs of raters that agree."""
    n = counts.sum(axis=1)
    twice = counts[n >= 2]
    n = n[n >= 2]
    shares: NDArray[np.float64] = (twice * (twice - 1)).sum(axis=1) / (n * (n - 1))
    return shares
