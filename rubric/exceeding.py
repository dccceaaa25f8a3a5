"""Whether somebody does something more often than the others at the same places, by more than people ordinarily differ.

A place is one item of one photo. By chance one does it there as often as the class, and a margin more. Were answers
independent, the number of times would be a sum of unlike coins; its upper tail is at most that of the binomial distribution
with their mean chance (Hoeffding 1956, Ann Math Stat 27:713-721, from memory), which is exact for equal chances. One
person's answers on one photo hang together, so count and number of places are first divided by how much wider such sums are in
this class than independent ones (effective sample size, Korn & Graubard 1998, Survey Methodology 24:193-201, from memory).
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc

from rubric.comparing import FEWEST_CLUSTERS

Floats = NDArray[np.float64]

#: A sum of squares of shares that is rounding only.
_NO_SPREAD = 1e-9


def more_than_others(values: Floats, *, margin: float) -> Floats:
    """One-sided p values, one for each thing (person); 1 where there is too little to test.

    Parameters
    ----------
    values : array of float, shape (clusters, clusters of another kind, things)
        1 where it was done, 0 where it was not, NaN where there was no answer.
    margin : float
        How much more than the others' share is still ordinary, 0 to 1.

    Examples
    --------
    >>> said = np.zeros((6, 5, 5))
    >>> said[..., 0] = 1
    >>> more_than_others(said, margin=0.05).round(3).tolist()
    [0.0, 1.0, 1.0, 1.0, 1.0]
    """
    present = ~np.isnan(values)
    n_there = present.sum(axis=2, keepdims=True)
    used = present & (n_there >= 2)
    done = np.where(used, values, 0.0)
    share = np.where(used, done.sum(axis=2, keepdims=True) / np.maximum(n_there, 1), 0.0)
    n, count = used.sum(axis=(0, 1)), done.sum(axis=(0, 1))
    chance = np.where(used, np.minimum(share + margin, 1.0), 0.0).sum(axis=(0, 1)) / np.maximum(n, 1)
    clusters = np.minimum(used.any(axis=1).sum(axis=0), used.any(axis=0).sum(axis=0))
    tested = (clusters >= FEWEST_CLUSTERS) & (count > n * chance)
    wider = _wider_than_independent(done - share, used)
    tail = betainc(np.maximum(count, 1) / wider, (n - count) / wider + 1, chance)
    p_values: Floats = np.where(tested, tail, 1.0)
    return p_values


def _wider_than_independent(excess: Floats, used: NDArray[np.bool_]) -> float:
    """The variance of people's sums over that of independent answers, clustered both ways; never below 1.

    Around each person's own mean, so that those who differ from the class do not hide themselves.
    """
    own = excess.sum(axis=(0, 1)) / np.maximum(used.sum(axis=(0, 1)), 1)
    off = np.where(used, excess - own, 0.0)
    single = float((off**2).sum())
    first, second = float((off.sum(axis=1) ** 2).sum()), float((off.sum(axis=0) ** 2).sum())
    if single < _NO_SPREAD:
        return 1.0
    return max(first + second - single, first, second, single) / single
