"""The figures of a class: by item, by photo, by item and photo, and by student. All with intervals, none a mark."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rubric.answers import Answer
from rubric.comparing import Estimates, clustered_means
from rubric.estimates import Wilson
from rubric.review.angles import AngleTable
from rubric.review.table import ANSWERS, CANT_TELL, ClassTable
from rubric.said import Said


@dataclass(frozen=True, kw_only=True)
class Share:
    """A share of answers, with Wilson's interval, which takes answers as independent and so is a little narrow.

    Parameters
    ----------
    count, n : int
        0 <= count <= n; with n = 0 there is no share.
    """

    count: int
    n: int

    @property
    def value(self) -> float | None:
        """The share, 0 to 1."""
        return self.count / self.n if self.n else None

    @property
    def low(self) -> float | None:
        """Lower end of the 95 % interval."""
        return Wilson(count=self.count, n=self.n).ends(0.95)[0] if self.n else None

    @property
    def high(self) -> float | None:
        """Upper end of the 95 % interval."""
        return Wilson(count=self.count, n=self.n).ends(0.95)[1] if self.n else None


@dataclass(frozen=True, kw_only=True)
class GroupFigures:
    """One item over all photos, or one photo over all items.

    Parameters
    ----------
    item, photo : str or None
        None for all.
    agrees : Share
        Answers that are the key's or accepted, of those compared.
    over_claimed : Share
        Said *seen* or *not seen*, of the answers where the key cannot tell.
    under_claimed : Share
        Said *can't tell*, of the answers where the key can.
    split : float or None
        How far the students part from each other, key or no key: the share of pairs of students who differ, 0 to 1.
    most_given_instead : Answer or None
        The answer most given of those that differ from the key; None where none differs.
    """

    item: str | None
    photo: str | None
    agrees: Share
    over_claimed: Share
    under_claimed: Share
    split: float | None
    most_given_instead: Answer | None


@dataclass(frozen=True, kw_only=True)
class StudentFigures:
    """One student: nothing here orders students, and nothing is to be shown to others by name.

    Parameters
    ----------
    student : str
    answered, asked : int
        How far along: items answered, of those that apply.
    agrees, over_claimed, under_claimed : Share
        As in GroupFigures.
    """

    student: str
    answered: int
    asked: int
    agrees: Share
    over_claimed: Share
    under_claimed: Share


@dataclass(frozen=True, kw_only=True)
class Bias:
    """By how much a class or a student reads a measure above (+, wide) or below (-, narrow) the key.

    Parameters
    ----------
    measure, unit : str
    student : str or None
        None for the class.
    value, low, high : float or None
        Mean difference with its 95 % interval, in the measure's unit.
    sd : float or None
        Standard deviation of the differences.
    limits : tuple of two floats, or None
        Limits of agreement, value ± 1.96 sd.
    n : int
        Readings that both have.
    reason : str or None
        Why something is missing.
    """

    measure: str
    unit: str
    student: str | None
    value: float | None
    low: float | None
    high: float | None
    sd: float | None
    limits: tuple[float, float] | None
    n: int
    reason: str | None


def agreement_map(table: ClassTable) -> NDArray[np.float64]:
    """For the heat map: the share of the class that agrees with the key, shape (photos, items); NaN where not compared."""
    compared = table.compared.sum(axis=0)
    differs = table.differs.sum(axis=0)
    shares: NDArray[np.float64] = np.where(compared > 0, 1 - differs / np.maximum(compared, 1), np.nan)
    return shares


def item_figures(table: ClassTable) -> tuple[GroupFigures, ...]:
    """Each item over all photos, in the order of the checklist."""
    return tuple(
        _group(table, np.s_[:, column : column + 1], item=item, photo=None)
        for column, item in enumerate(table.key.items)
    )


def photo_figures(table: ClassTable) -> tuple[GroupFigures, ...]:
    """Each photo over all its items, in the order of the set."""
    return tuple(
        _group(table, np.s_[row : row + 1, :], item=None, photo=photo) for row, photo in enumerate(table.key.photos)
    )


def _group(table: ClassTable, part: tuple[slice, slice], *, item: str | None, photo: str | None) -> GroupFigures:
    compared, differs = table.compared[:, *part], table.differs[:, *part]
    cannot = table.key.answers[part] == CANT_TELL
    over, under = table.over_claimed[:, *part], table.under_claimed[:, *part]
    instead = [int((differs & (table.answers[:, *part] == code)).sum()) for code in range(len(ANSWERS))]
    return GroupFigures(
        item=item,
        photo=photo,
        agrees=Share(count=int((compared & ~differs).sum()), n=int(compared.sum())),
        over_claimed=Share(count=int(over.sum()), n=int((compared & cannot).sum())),
        under_claimed=Share(count=int(under.sum()), n=int((compared & ~cannot).sum())),
        split=_split(table.counts[part]),
        most_given_instead=ANSWERS[int(np.argmax(instead))] if any(instead) else None,
    )


def _split(counts: NDArray[np.int64]) -> float | None:
    n = counts.sum(axis=-1)
    several = n >= 2
    if not several.any():
        return None
    alike = (counts * (counts - 1)).sum(axis=-1)[several] / (n * (n - 1))[several]
    return float(1 - alike.mean())


def student_figures(table: ClassTable) -> tuple[StudentFigures, ...]:
    """Each student's figures, in the order of the table."""
    over_all = (1, 2)
    asked = int((table.key.answers >= 0).sum())
    answered = ((table.answers >= 0) & (table.key.answers >= 0)).sum(axis=over_all)
    compared, differs = table.compared.sum(axis=over_all), table.differs.sum(axis=over_all)
    cannot = (table.compared & (table.key.answers == CANT_TELL)).sum(axis=over_all)
    over, under = table.over_claimed.sum(axis=over_all), table.under_claimed.sum(axis=over_all)
    return tuple(
        StudentFigures(
            student=student,
            answered=int(answered[place]),
            asked=asked,
            agrees=Share(count=int(compared[place] - differs[place]), n=int(compared[place])),
            over_claimed=Share(count=int(over[place]), n=int(cannot[place])),
            under_claimed=Share(count=int(under[place]), n=int(compared[place] - cannot[place])),
        )
        for place, student in enumerate(table.students)
    )


def class_bias(table: AngleTable) -> Bias:
    """Bland-Altman of the class against the key: bias and limits of single readings.

    The interval of the bias is clustered by student and photo; that of the plain formula would be far too narrow, since one
    student's readings hang together.
    """
    difference = table.difference
    return _bias(table, None, difference, clustered_means(difference[:, :, None]), 0)


def student_biases(table: AngleTable) -> tuple[Bias, ...]:
    """Each student's own bias, with Student's t over the photos."""
    by_student = clustered_means(table.difference.T[:, None, :])
    return tuple(
        _bias(table, student, table.difference[place : place + 1], by_student, place)
        for place, student in enumerate(table.students)
    )


def _bias(table: AngleTable, student: str | None, difference: NDArray[np.float64], means: Estimates, at: int) -> Bias:
    known = difference[~np.isnan(difference)]
    n = len(known)
    value = float(means.value[at]) if n else None
    sd = float(np.std(known, ddof=1)) if n >= 2 else None
    told = not np.isnan(means.low[at])
    few = Said("no interval from fewer than five photos or students, got {n} readings", n=n)
    reason = None if told else few
    return Bias(
        measure=table.name,
        unit=table.unit,
        student=student,
        value=value,
        low=float(means.low[at]) if told else None,
        high=float(means.high[at]) if told else None,
        sd=sd,
        limits=None if sd is None or value is None else (value - 1.96 * sd, value + 1.96 * sd),
        n=n,
        reason=Said("no reading that the key has too") if not n else reason,
    )
