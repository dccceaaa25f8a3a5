"""The whole review of one class and set: figures, agreement, findings, and what to teach next."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rubric.agreement import KappaAndAc1, kappa_and_ac1, krippendorff_alpha
from rubric.comparing import clustered_means
from rubric.estimates import Agreement
from rubric.review.figures import (
    Bias,
    GroupFigures,
    StudentFigures,
    agreement_map,
    class_bias,
    item_figures,
    photo_figures,
    student_biases,
    student_figures,
)
from rubric.review.finding_words import finding_interval, finding_text
from rubric.review.findings import ClassWork, Finding, Rules, class_findings
from rubric.review.patterns import ChangeOfMind, change_of_mind
from rubric.review.points import Ellipse, PointTable, landmark_ellipses
from rubric.review.table import CANT_TELL, ClassTable
from rubric.review.teach_next import PhotoToShow, most_given_instead, photos_to_show


@dataclass(frozen=True, kw_only=True)
class Rate:
    """A share over students and photos, with an interval clustered both ways; None where there is too little.

    Parameters
    ----------
    value, low, high : float or None
    n : int
        Answers that it rests on.
    """

    value: float | None
    low: float | None
    high: float | None
    n: int


@dataclass(frozen=True, kw_only=True)
class TeachingPoint:
    """A finding, in words, with the photos that show it best.

    Parameters
    ----------
    finding : Finding
    text, interval : str
        Sentences without names, and the interval in words ("" where there is none).
    photos : tuple of PhotoToShow
        At most three.
    """

    finding: Finding
    text: str
    interval: str
    photos: tuple[PhotoToShow, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class ClassReview:
    """What an instructor reads.

    Parameters
    ----------
    table : ClassTable
        The last look, to which the answers' figures belong.
    points : tuple of TeachingPoint
        What stands out, the most certain first.
    agreement_map : array of float, shape (photos, items)
        For the heat map: share that agrees with the key; NaN where nothing is compared.
    items, photos : tuple of GroupFigures
    students : tuple of StudentFigures
        In the order of the table, which is no ranking.
    over_claiming, under_claiming : Rate
        Said more than the photo shows; said *can't tell* where the key can.
    among_students : KappaAndAc1
        How far the students agree with each other over all items.
    by_item : tuple of KappaAndAc1
        The same for each item, in the order of `items`; where a sign is nearly always there, a sentence says why the two part.
    alpha : Agreement
    class_angles, student_angles : tuple of Bias
    ellipses : tuple of Ellipse
    change : ChangeOfMind or None
        None where there was one look only.
    n_disputed : int
        Items on photos that grade nobody, because the experts part there.
    """

    table: ClassTable
    points: tuple[TeachingPoint, ...]
    agreement_map: NDArray[np.float64]
    items: tuple[GroupFigures, ...]
    photos: tuple[GroupFigures, ...]
    students: tuple[StudentFigures, ...]
    over_claiming: Rate
    under_claiming: Rate
    among_students: KappaAndAc1
    by_item: tuple[KappaAndAc1, ...]
    alpha: Agreement
    class_angles: tuple[Bias, ...]
    student_angles: tuple[Bias, ...]
    ellipses: tuple[Ellipse, ...]
    change: ChangeOfMind | None
    n_disputed: int


def review_class(
    work: ClassWork,
    *,
    points: PointTable | None = None,
    expert_agreement: NDArray[np.float64] | None = None,
    rules: Rules | None = None,
) -> ClassReview:
    """Review a class: pure, and the same for the same work."""
    table = work.second or work.first
    findings = class_findings(work, rules)
    cannot = table.key.answers == CANT_TELL
    return ClassReview(
        table=table,
        points=tuple(_teaching_point(finding, work, table, expert_agreement) for finding in findings),
        agreement_map=agreement_map(table),
        items=item_figures(table),
        photos=photo_figures(table),
        students=student_figures(table),
        over_claiming=_rate(table, table.over_claimed, cannot),
        under_claiming=_rate(table, table.under_claimed, ~cannot),
        among_students=kappa_and_ac1(table.ratings()),
        by_item=tuple(kappa_and_ac1(table.ratings(item)) for item in table.key.items),
        alpha=krippendorff_alpha(table.ratings()),
        class_angles=tuple(class_bias(angles) for angles in work.angles),
        student_angles=tuple(bias for angles in work.angles for bias in student_biases(angles)),
        ellipses=() if points is None else landmark_ellipses(points),
        change=None if work.second is None else change_of_mind(work.first, work.second),
        n_disputed=int(table.key.disputed.sum()),
    )


def _teaching_point(
    finding: Finding, work: ClassWork, table: ClassTable, expert_agreement: NDArray[np.float64] | None
) -> TeachingPoint:
    return TeachingPoint(
        finding=finding,
        text=finding_text(finding, most_given=most_given_instead(finding, table)),
        interval=finding_interval(finding),
        photos=photos_to_show(finding, table, work.angles, expert_agreement=expert_agreement),
    )


def _rate(table: ClassTable, said: NDArray[np.bool_], where: NDArray[np.bool_]) -> Rate:
    values = np.where(table.compared & where, said, np.nan)
    n_by_cell = (~np.isnan(values)).sum(axis=2)
    n = int(n_by_cell.sum())
    if not n:
        return Rate(value=None, low=None, high=None, n=0)
    # Each photo of a student weighs by its answers: the mean of residues around the overall share has that share's error.
    share = float(np.nansum(values)) / n
    residues = np.where(n_by_cell > 0, np.nansum(values - share, axis=2), np.nan) * (n_by_cell > 0).sum() / n
    found = clustered_means(residues[:, :, None])
    if np.isnan(found.low[0]):
        return Rate(value=share, low=None, high=None, n=n)
    reach = float(found.high[0] - found.value[0])
    return Rate(value=share, low=max(0.0, share - reach), high=min(1.0, share + reach), n=n)
