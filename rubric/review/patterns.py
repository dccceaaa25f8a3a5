"""Patterns within a student's answers: change of mind, halo, following the number. They are hints to talk about."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom, t

from rubric.comparing import FEWEST_CLUSTERS, Estimates, clustered_means
from rubric.review.table import BLANK, SEEN, ClassTable, Codes

Floats = NDArray[np.float64]
Counts = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class ChangeOfMind:
    """First against second look, where both were answered and the key is graded.

    Parameters
    ----------
    towards, away, other : array of int, shape (students,)
        Answers that came to the key, that left it, and that went from one other answer to another.
    compared : array of int, shape (students,)
    net : Estimates of one thing
        Mean over students of the share that came to the key less the share that left it.
    """

    towards: Counts
    away: Counts
    other: Counts
    compared: Counts
    net: Estimates


@dataclass(frozen=True, kw_only=True, eq=False)
class Halo:
    """Each student's halo sign, arrays of shape (students,); NaN where there is too little.

    Parameters
    ----------
    value, low, high : array of float
        The mean correlation within a photo, with 95 % intervals.
    p_value : array of float
        Of the one-sided test against 0.
    """

    value: Floats
    low: Floats
    high: Floats
    p_value: Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class FollowsNumber:
    """Each student's second answers where the own measure suggests another answer than the key, shape (students,).

    Parameters
    ----------
    went, left : array of int
        Answers that went to what the number suggests, and that left it.
    could : array of int
        Answers that stood elsewhere at the first look.
    p_value : array of float
        Of the one-sided test of a student's `went` out of `could` against the rate of the others.
    net : Estimates of one thing
        Mean over students of (went - left) / could.
    """

    went: Counts
    left: Counts
    could: Counts
    p_value: Floats
    net: Estimates


def change_of_mind(first: ClassTable, second: ClassTable) -> ChangeOfMind:
    """What the second look changed; the order of students, photos and items must be the same."""
    both = first.compared & second.compared
    over = (1, 2)
    towards = (both & first.differs & ~second.differs).sum(axis=over)
    away = (both & ~first.differs & second.differs).sum(axis=over)
    other = (both & first.differs & second.differs & (first.answers != second.answers)).sum(axis=over)
    compared = both.sum(axis=over)
    share = np.where(compared > 0, (towards - away) / np.maximum(compared, 1), np.nan)
    net = clustered_means(share[:, None, None])
    return ChangeOfMind(towards=towards, away=away, other=other, compared=compared, net=net)


def halo(table: ClassTable) -> Halo:
    """Whether one impression of a photo colours a student's answers to all its signs (own definition).

    Halo is what Thorndike 1920 (J Appl Psychol 4:25-29, from memory) named so; there is no agreed figure for single photos.
    Here: for each answer the residue r is 1 for *seen*, else 0, less the share of the other students who said *seen* to that
    sign on that photo, less the student's own mean residue. A student without halo says *seen* too often to one sign of a photo
    without saying it too often to the others; with halo the residues of one photo go together. The figure is their mean
    correlation: the sum of r·r' over pairs of signs of one photo, over what full correlation would give (not quite 1 for
    the most complete halo, since the others' shares differ by sign). Tested with the
    variance that the sum has when residues are independent, and Student's t on the photos less one, since few photos make such
    sums more uneven than the normal distribution allows.
    """
    answered = (table.answers != BLANK) & (table.key.answers != BLANK)
    seen = (table.answers == SEEN) & answered
    n = answered.sum(axis=0)
    others = (seen.sum(axis=0) - seen) / np.maximum(n - 1, 1)
    used = answered & (n >= 2)
    residue = np.where(used, seen - others, 0.0)
    per_student = used.sum(axis=(1, 2))
    residue -= np.where(used, (residue.sum(axis=(1, 2)) / np.maximum(per_student, 1))[:, None, None], 0.0)
    squares = (residue**2).sum(axis=2)
    pairs = (residue.sum(axis=2) ** 2 - squares).sum(axis=1)
    full = ((used.sum(axis=2) - 1).clip(0) * squares).sum(axis=1)
    spread = np.sqrt(2 * (squares**2 - (residue**4).sum(axis=2)).clip(0).sum(axis=1))
    photos = used.any(axis=2).sum(axis=1)
    known = (full > 0) & (spread > 0) & (photos >= FEWEST_CLUSTERS)
    df = np.maximum(photos - 1, 1)
    value = np.divide(pairs, full, out=np.full(len(full), np.nan), where=known)
    reach = np.divide(t.ppf(0.975, df) * spread, full, out=np.full(len(full), np.nan), where=known)
    distance = np.divide(pairs, spread, out=np.full(len(full), -np.inf), where=known)
    return Halo(value=value, low=value - reach, high=np.minimum(value + reach, 1), p_value=t.sf(distance, df))


def follows_number(first: ClassTable, second: ClassTable, suggested: Codes) -> FollowsNumber:
    """Whether second answers go to what the own measure suggests, against the key: "scoring the number" (own definition).

    Only answers count where the measure's band suggests something that is not the key's, and both looks were answered. Of a
    student with the habit more go to the suggestion than of the others; in a class with the habit more go than leave.

    Parameters
    ----------
    suggested : array of int, shape (students, photos, items)
        What the student's own measure suggests, as `suggested_answers` gives it; -1 where it suggests nothing.
    """
    both = first.compared & second.compared & (suggested != BLANK)
    code = np.where(suggested == BLANK, 0, suggested)
    matches = np.take_along_axis(np.broadcast_to(first.key.matches, (*code.shape, 3)), code[..., None], axis=3)[..., 0]
    against = both & ~matches
    before, after = first.answers == suggested, second.answers == suggested
    went = (against & ~before & after).sum(axis=(1, 2))
    left = (against & before & ~after).sum(axis=(1, 2))
    could = (against & ~before).sum(axis=(1, 2))
    usual = (went.sum() - went + 1) / (could.sum() - could + 2)
    share = np.where(could > 0, (went - left) / np.maximum(could, 1), np.nan)
    net = clustered_means(share[:, None, None])
    return FollowsNumber(went=went, left=left, could=could, p_value=binom.sf(went - 1, could, usual), net=net)


def suggested_answers(values: Floats, *, seen_from: float, not_seen_below: float) -> NDArray[np.int8]:
    """What a measure suggests by its outer bands: *seen* from one edge on, *not seen* below another, else nothing (-1).

    Examples
    --------
    >>> suggested_answers(np.array([130, 100, 60, np.nan]), seen_from=120, not_seen_below=90).tolist()
    [0, -1, 1, -1]
    """
    codes: NDArray[np.int8] = np.select([values >= seen_from, values < not_seen_below], [0, 1], BLANK).astype(np.int8)
    return codes
