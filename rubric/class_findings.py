"""What stands out in a class, each with its interval and only where chance does not explain it.

One rule for all: a finding is reported where (1) its test stays below its part of the class's error rate after Holm's correction
within its kind, and (2) it is large enough to matter for teaching (`Rules`). The kinds share the error rate equally, so in a
class where nothing is to be found the review stays silent in at least 1 - `error_rate` of cases.

Items are compared within one student's answers about one photo, photos within one student's answers to one item, students on the
same items and photos; so a careful student or a hard photo makes nobody and nothing else look different. Disputed items are
left out of all of it.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

from rubric.class_angles import AngleTable
from rubric.class_patterns import change_of_mind, follows_number, halo
from rubric.class_table import CANT_TELL, FEWEST_TOLD, ClassTable, Codes
from rubric.comparing import Estimates, clustered_means, holm, one_against_rest
from rubric.estimates import Wilson

Floats = NDArray[np.float64]


class FindingKind(StrEnum):
    """What a finding is about."""

    ITEM = "item"
    PHOTO = "photo"
    ITEM_ON_PHOTO = "item_on_photo"
    OVER_CLAIMING = "over_claiming"
    STUDENT_OVER_CLAIMS = "student_over_claims"
    STUDENT_UNDER_CLAIMS = "student_under_claims"
    CLASS_READS_OFF = "class_reads_off"
    STUDENT_READS_OFF = "student_reads_off"
    CHANGE_OF_MIND = "change_of_mind"
    HALO = "halo"
    FOLLOWS_NUMBER = "follows_number"


@dataclass(frozen=True, kw_only=True)
class Rules:
    """When a finding is reported: this project's own, editable.

    Parameters
    ----------
    error_rate : float
        For the whole review of a class: how often anything at all may be reported where nothing is to be found.
    share, spot_share : float
        Least difference of shares for items, photos and students; for one item on one photo.
    class_deg, student_deg : float
        Least bias of an angle of the class against the key, and of a student against the class.
    net_change : float
        Least net share of answers that the second look brought to the key or away from it.
    halo : float
        Least mean correlation within photos.
    followed : float
        Least share of answers that went to what the number suggests.
    """

    error_rate: float = 0.05
    share: float = 0.10
    spot_share: float = 0.25
    class_deg: float = 3.0
    student_deg: float = 4.0
    net_change: float = 0.02
    halo: float = 0.10
    followed: float = 0.25


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that stands out.

    Parameters
    ----------
    kind : FindingKind
    item, photo, student, measure : str or None
        What it is about; None where it is about all of them.
    value, low, high : float or None
        How far it stands out, with a 95 % interval (not corrected for the number of tests): a difference of shares, degrees, or a
        correlation. low and high are None where no formula holds.
    here, elsewhere : float or None
        The two shares that `value` compares, where it does.
    unit : str
        "share", "deg" or "correlation".
    p_value : float
        After Holm's correction within the kind.
    n : int
        Answers, readings or changes that it rests on.
    """

    kind: FindingKind
    item: str | None = None
    photo: str | None = None
    student: str | None = None
    measure: str | None = None
    value: float
    low: float | None
    high: float | None
    here: float | None = None
    elsewhere: float | None = None
    unit: str
    p_value: float
    n: int


@dataclass(frozen=True, kw_only=True, eq=False)
class ClassWork:
    """All that the review of one class and set reads.

    Parameters
    ----------
    first : ClassTable
        Answers by eye, before the measures; where there was one look only, that.
    second : ClassTable or None
        Answers at the second look, of the same students, photos and items.
    suggested : array of int, shape (students, photos, items), or None
        What each student's own measure suggests, for `follows_number`.
    angles : tuple of AngleTable
    """

    first: ClassTable
    second: ClassTable | None = None
    suggested: Codes | None = None
    angles: tuple[AngleTable, ...] = ()


def class_findings(work: ClassWork, rules: Rules | None = None) -> tuple[Finding, ...]:
    """All findings, the most certain first; none for fewer than five students.

    The last look counts for the answers: where there is a second one, the first only serves the change of mind.
    """
    if len(work.first.students) < FEWEST_TOLD:
        return ()
    rule = rules or Rules()
    table = work.second or work.first
    wrong = np.where(table.compared, table.differs, np.nan)
    families = [
        _items(table, wrong, rule),
        _photos(table, wrong, rule),
        _spots(table, rule),
        _over_claiming(table, wrong, rule),
        _students(table, FindingKind.STUDENT_OVER_CLAIMS, rule),
        _students(table, FindingKind.STUDENT_UNDER_CLAIMS, rule),
        [found for angles in work.angles for found in _class_angle(angles, rule)],
        [found for angles in work.angles for found in _student_angles(angles, rule)],
        *_patterns(work, rule),
    ]
    level = rule.error_rate / len(FindingKind)
    findings = [found for family in families for found in _significant(family, level)]
    return tuple(sorted(findings, key=lambda found: (found.p_value, -abs(found.value))))


@dataclass(frozen=True, kw_only=True)
class _Candidate:
    """A finding before its test is corrected, and whether it is large enough to be told."""

    finding: Finding
    large: bool


def _significant(family: list[_Candidate], level: float) -> list[Finding]:
    adjusted = holm(np.array([candidate.finding.p_value for candidate in family]))
    pairs = zip(family, adjusted, strict=True)
    return [_with_p(one.finding, float(p)) for one, p in pairs if one.large and p <= level]


def _with_p(finding: Finding, p_value: float) -> Finding:
    return Finding(**{**finding.__dict__, "p_value": p_value})


def _shares(
    kind: FindingKind, names: tuple[str, ...], field: str, found: Estimates, here: Floats, least: float
) -> list[_Candidate]:
    return [
        _Candidate(
            finding=Finding(
                kind=kind,
                **{field: name},
                value=float(found.value[at]),
                low=_or_none(found.low[at]),
                high=_or_none(found.high[at]),
                here=float(here[at]),
                elsewhere=float(here[at] - found.value[at]),
                unit="share",
                p_value=float(found.p_value[at]),
                n=int(found.n[at]),
            ),
            large=bool(found.value[at] >= least),
        )
        for at, name in enumerate(names)
        if found.n[at]
    ]


def _or_none(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _mean(values: Floats, axes: tuple[int, ...]) -> Floats:
    present = ~np.isnan(values)
    means: Floats = np.where(present, values, 0.0).sum(axis=axes) / np.maximum(present.sum(axis=axes), 1)
    return means


def _items(table: ClassTable, wrong: Floats, rule: Rules) -> list[_Candidate]:
    found = one_against_rest(wrong, least_se=0.25)
    return _shares(FindingKind.ITEM, table.key.items, "item", found, _mean(wrong, (0, 1)), rule.share)


def _photos(table: ClassTable, wrong: Floats, rule: Rules) -> list[_Candidate]:
    found = one_against_rest(wrong.transpose(0, 2, 1), least_se=0.25)
    return _shares(FindingKind.PHOTO, table.key.photos, "photo", found, _mean(wrong, (0, 2)), rule.share)


def _students(table: ClassTable, kind: FindingKind, rule: Rules) -> list[_Candidate]:
    """Over-claiming where the key cannot tell, or *can't tell* where it can, one student against the others."""
    cannot = table.key.answers == CANT_TELL
    over = kind == FindingKind.STUDENT_OVER_CLAIMS
    claims, where = (table.over_claimed, cannot) if over else (table.under_claimed, ~cannot)
    values = np.where(table.compared & where, claims, np.nan)
    found = one_against_rest(values.transpose(1, 2, 0), least_se=0.25)
    return _shares(kind, table.students, "student", found, _mean(values, (1, 2)), 1.5 * rule.share)


def _spots(table: ClassTable, rule: Rules) -> list[_Candidate]:
    """One item on one photo against what its item and photo make one expect elsewhere: their excesses added to the mean."""
    n, wrong = table.compared.sum(axis=0), table.differs.sum(axis=0)
    rest_n, rest_wrong = n.sum() - n, wrong.sum() - wrong
    overall = (rest_wrong + 1) / (rest_n + 2)
    of_item = (wrong.sum(axis=0) - wrong + overall) / (n.sum(axis=0) - n + 1)
    of_photo = (wrong.sum(axis=1, keepdims=True) - wrong + overall) / (n.sum(axis=1, keepdims=True) - n + 1)
    expected = np.clip(np.maximum(of_item + of_photo - overall, overall), 0.01, 0.95)
    p_values = binom.sf(wrong - 1, n, expected)
    return [
        _spot(table, place, float(expected[place]), float(p_values[place]), rule)
        for place in zip(*np.nonzero(n >= FEWEST_TOLD), strict=True)
    ]


def _spot(table: ClassTable, place: tuple[int, ...], expected: float, p_value: float, rule: Rules) -> _Candidate:
    row, column = place
    n, wrong = int(table.compared[:, row, column].sum()), int(table.differs[:, row, column].sum())
    reach = 1.96 * np.sqrt(wrong / n * (1 - wrong / n) / n) if 0 < wrong < n else None
    value = wrong / n - expected
    finding = Finding(
        kind=FindingKind.ITEM_ON_PHOTO,
        photo=table.key.photos[row],
        item=table.key.items[column],
        value=value,
        low=None if reach is None else float(value - reach),
        high=None if reach is None else float(value + reach),
        here=wrong / n,
        elsewhere=expected,
        unit="share",
        p_value=p_value,
        n=n,
    )
    return _Candidate(finding=finding, large=value >= rule.spot_share)


def _over_claiming(table: ClassTable, wrong: Floats, rule: Rules) -> list[_Candidate]:
    """The class says more where the key cannot tell than it errs elsewhere: one difference for each student."""
    cannot = table.key.answers == CANT_TELL
    if not cannot.any() or cannot.all():
        return []
    here = np.where(cannot, wrong, np.nan)
    elsewhere = _mean(np.where(cannot, np.nan, wrong), (1, 2))
    by_cell = here - elsewhere[:, None, None]  # student by student, so that a careful one is compared with itself
    cells = by_cell.reshape(len(table.students), -1)
    found = clustered_means(cells[:, :, None], least_se=0.25)
    return _shares(FindingKind.OVER_CLAIMING, ("",), "item", found, _mean(here, (0, 1, 2))[None], rule.share)


def _class_angle(table: AngleTable, rule: Rules) -> list[_Candidate]:
    found = clustered_means(table.difference[:, :, None])
    return _angles(table, FindingKind.CLASS_READS_OFF, (None,), found, rule.class_deg)


def _student_angles(table: AngleTable, rule: Rules) -> list[_Candidate]:
    """A student against the others on the same photos: what the whole class reads wide is the class's finding."""
    found = one_against_rest(table.difference.T[:, None, :], share_spread=True)
    return _angles(table, FindingKind.STUDENT_READS_OFF, table.students, found, rule.student_deg)


def _angles(
    table: AngleTable, kind: FindingKind, students: tuple[str | None, ...], found: Estimates, least: float
) -> list[_Candidate]:
    return [
        _Candidate(
            finding=Finding(
                kind=kind,
                student=student,
                measure=table.name,
                value=float(found.value[at]),
                low=_or_none(found.low[at]),
                high=_or_none(found.high[at]),
                unit=table.unit,
                p_value=float(found.p_value[at]),
                n=int(found.n[at]),
            ),
            large=bool(abs(found.value[at]) >= least),
        )
        for at, student in enumerate(students)
        if found.n[at]
    ]


def _patterns(work: ClassWork, rule: Rules) -> list[list[_Candidate]]:
    table = work.second or work.first
    families = [_halo(table, rule)]
    if work.second is not None:
        families.append(_change(work.first, work.second, rule))
        if work.suggested is not None:
            families.append(_followers(work.first, work.second, work.suggested, rule))
    return families


def _halo(table: ClassTable, rule: Rules) -> list[_Candidate]:
    found = halo(table)
    answered = (table.answers >= 0).sum(axis=(1, 2))
    return [
        _Candidate(
            finding=Finding(
                kind=FindingKind.HALO,
                student=student,
                value=float(found.value[at]),
                low=float(found.low[at]),
                high=float(found.high[at]),
                unit="correlation",
                p_value=float(found.p_value[at]),
                n=int(answered[at]),
            ),
            large=bool(found.value[at] >= rule.halo),
        )
        for at, student in enumerate(table.students)
        if not np.isnan(found.value[at])
    ]


def _change(first: ClassTable, second: ClassTable, rule: Rules) -> list[_Candidate]:
    found = change_of_mind(first, second)
    if not found.net.n[0]:
        return []
    finding = Finding(
        kind=FindingKind.CHANGE_OF_MIND,
        value=float(found.net.value[0]),
        low=_or_none(found.net.low[0]),
        high=_or_none(found.net.high[0]),
        unit="share",
        p_value=float(found.net.p_value[0]),
        n=int(found.compared.sum()),
    )
    return [_Candidate(finding=finding, large=abs(finding.value) >= rule.net_change)]


def _followers(first: ClassTable, second: ClassTable, suggested: Codes, rule: Rules) -> list[_Candidate]:
    """Each student against the others, and the class as a whole against as many leaving as going."""
    found = follows_number(first, second, suggested)
    students = [
        _follower(student, int(found.went[at]), int(found.could[at]), float(found.p_value[at]), rule)
        for at, student in enumerate(first.students)
        if found.could[at]
    ]
    if not found.net.n[0]:
        return students
    went, could = int(found.went.sum()), int(found.could.sum())
    everybody = _follower(None, went, could, float(found.net.p_value[0]) if found.net.value[0] > 0 else 1.0, rule)
    return [*students, everybody]


def _follower(student: str | None, went: int, could: int, p_value: float, rule: Rules) -> _Candidate:
    low, high = Wilson(count=went, n=could).ends(0.95)
    finding = Finding(
        kind=FindingKind.FOLLOWS_NUMBER,
        student=student,
        value=went / could,
        low=low,
        high=high,
        unit="share",
        p_value=p_value,
        n=could,
    )
    return _Candidate(finding=finding, large=went / could >= rule.followed)
