"""Which photos show a point best: where the key is clear and the class parts from it.

``score = clarity * disagreement``, both 0 to 1, for each photo (own definition):

- clarity of the key: 0 where it says nothing or the experts part; else the share of experts who gave the key's answer (1 for a
  key by one hand), halved where the key accepts another answer too, and halved where nearly all of the class give one and the
  same other answer, since then the key may be what is in doubt;
- disagreement: the share of the class that differs from the key there.

For one student the disagreement is the student's own, times the share of the class that agrees with the key: photos on which
the others saw it. For an angle it is the mean distance from the key in the direction of the bias, over the largest.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rubric.review.angles import AngleTable
from rubric.review.findings import Finding, FindingKind
from rubric.review.table import ANSWERS, CANT_TELL, FEWEST_TOLD, ClassTable, KeyTable

Floats = NDArray[np.float64]

#: Nearly all of the class.
_NEARLY_ALL = 0.9


@dataclass(frozen=True, kw_only=True)
class PhotoToShow:
    """One photo for a point, and why.

    Parameters
    ----------
    photo : str
    score : float
        Above 0, at most 1.
    item : str or None
        The item to look at on it.
    """

    photo: str
    score: float
    item: str | None


def key_clarity(key: KeyTable, class_counts: NDArray[np.int64], expert_agreement: Floats | None = None) -> Floats:
    """How clear the key is, shape (photos, items), 0 to 1, as at the head of this file.

    Parameters
    ----------
    class_counts : array of int, shape (photos, items, 3)
    expert_agreement : array of float, shape (photos, items), or None
    """
    clarity = np.where(key.graded, 1.0 if expert_agreement is None else expert_agreement, 0.0)
    clarity = np.where(key.accepted.any(axis=2), clarity / 2, clarity)
    n = class_counts.sum(axis=2)
    others = np.where(key.matches, 0, class_counts).max(axis=2)
    in_doubt = (n >= FEWEST_TOLD) & (others >= _NEARLY_ALL * np.maximum(n, 1))
    cleared: Floats = np.where(in_doubt, clarity / 2, clarity)
    return cleared


def photos_to_show(
    finding: Finding,
    table: ClassTable,
    angles: tuple[AngleTable, ...] = (),
    *,
    expert_agreement: Floats | None = None,
    n: int = 3,
) -> tuple[PhotoToShow, ...]:
    """The photos that show a finding best, best first, at most n; ties keep the order of the set.

    A photo's own finding begins with that photo, and goes on with the photos that show its most divided item best.
    """
    if finding.measure is not None:
        found = next((one for one in angles if one.name == finding.measure), None)
        return () if found is None else _by_angle(finding, found, n)
    scores = key_clarity(table.key, table.counts, expert_agreement) * _disagreement(finding, table)
    if finding.kind in (FindingKind.PHOTO, FindingKind.ITEM_ON_PHOTO) and finding.photo is not None:
        return _around(finding, table.key, scores, n)
    if finding.item is not None:
        scores = np.where(np.array(table.key.items) == finding.item, scores, 0.0)
    return _best(table.key, scores, n)


def _disagreement(finding: Finding, table: ClassTable) -> Floats:
    cells = table.differs
    if finding.kind in (FindingKind.OVER_CLAIMING, FindingKind.STUDENT_OVER_CLAIMS):
        cells = table.over_claimed
    elif finding.kind == FindingKind.STUDENT_UNDER_CLAIMS:
        cells = table.under_claimed
    share: Floats = cells.sum(axis=0) / np.maximum(table.compared.sum(axis=0), 1)
    if finding.student is None:
        return share
    own: Floats = cells[table.students.index(finding.student)] * (1 - share)
    return own


def _best(key: KeyTable, scores: Floats, n: int) -> tuple[PhotoToShow, ...]:
    item = scores.argmax(axis=1)
    best = scores.max(axis=1, initial=0.0)
    order = np.argsort(-best, kind="stable")[:n]
    return tuple(
        PhotoToShow(photo=key.photos[row], score=float(best[row]), item=key.items[item[row]])
        for row in order
        if best[row] > 0
    )


def _around(finding: Finding, key: KeyTable, scores: Floats, n: int) -> tuple[PhotoToShow, ...]:
    row = key.photos.index(finding.photo or "")
    column = int(scores[row].argmax()) if finding.item is None else key.items.index(finding.item)
    first = PhotoToShow(photo=key.photos[row], score=float(scores[row, column]), item=key.items[column])
    rest = np.where(np.arange(len(key.items)) == column, scores, 0.0)
    rest[row] = 0.0
    return (first, *_best(key, rest, n - 1))


def _by_angle(finding: Finding, angles: AngleTable, n: int) -> tuple[PhotoToShow, ...]:
    """Photos where the class, or the student, lies furthest to the side of the bias."""
    difference = angles.difference
    if finding.student is not None:
        difference = difference[[angles.students.index(finding.student)]]
    read = ~np.isnan(difference)
    off = np.sign(finding.value) * np.where(read, difference, 0.0).sum(axis=0) / np.maximum(read.sum(axis=0), 1)
    scores = np.clip(off, 0, None) / max(float(off.max(initial=0.0)), 1e-9)
    order = np.argsort(-scores, kind="stable")[:n]
    return tuple(
        PhotoToShow(photo=angles.photos[at], score=float(scores[at]), item=None) for at in order if scores[at] > 0
    )


def most_given_instead(finding: Finding, table: ClassTable) -> str | None:
    """The answer most given where the finding's answers differ from the key, in data words; None where none differs."""
    cells = table.differs
    if finding.item:
        cells = cells & (np.array(table.key.items) == finding.item)
    if finding.photo:
        cells = cells & (np.array(table.key.photos) == finding.photo)[:, None]
    if finding.student:
        cells = cells & (np.array(table.students) == finding.student)[:, None, None]
    if finding.kind in (FindingKind.OVER_CLAIMING, FindingKind.STUDENT_OVER_CLAIMS):
        cells = cells & (table.key.answers == CANT_TELL)
    counts = [int((cells & (table.answers == code)).sum()) for code in range(len(ANSWERS))]
    return ANSWERS[int(np.argmax(counts))].value if any(counts) else None
