"""What could stand out among angles and in patterns: bias, halo, change of mind, following the number."""

import numpy as np

from rubric.comparing import Estimates, clustered_means, one_against_rest
from rubric.estimates import Wilson
from rubric.review.angles import AngleTable
from rubric.review.finding import Candidate, Finding, FindingKind, Rules, or_none
from rubric.review.patterns import change_of_mind, follows_number, halo
from rubric.review.table import ClassTable, Codes


def class_angle_candidates(table: AngleTable, rule: Rules) -> list[Candidate]:
    found = clustered_means(table.difference[:, :, None])
    return _angles(table, FindingKind.CLASS_READS_OFF, (None,), found, rule.class_deg)


def student_angle_candidates(table: AngleTable, rule: Rules) -> list[Candidate]:
    """A student against the others on the same photos: what the whole class reads wide is the class's finding."""
    found = one_against_rest(table.difference.T[:, None, :], share_spread=True)
    return _angles(table, FindingKind.STUDENT_READS_OFF, table.students, found, rule.student_deg)


def _angles(
    table: AngleTable, kind: FindingKind, students: tuple[str | None, ...], found: Estimates, least: float
) -> list[Candidate]:
    return [
        Candidate(
            finding=Finding(
                kind=kind,
                student=student,
                measure=table.name,
                value=float(found.value[at]),
                low=or_none(found.low[at]),
                high=or_none(found.high[at]),
                unit=table.unit,
                p_value=float(found.p_value[at]),
                n=int(found.n[at]),
            ),
            large=bool(abs(found.value[at]) >= least),
        )
        for at, student in enumerate(students)
        if found.n[at]
    ]


def halo_candidates(table: ClassTable, rule: Rules) -> list[Candidate]:
    found = halo(table)
    answered = (table.answers >= 0).sum(axis=(1, 2))
    return [
        Candidate(
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


def change_candidates(first: ClassTable, second: ClassTable, rule: Rules) -> list[Candidate]:
    found = change_of_mind(first, second)
    if not found.net.n[0]:
        return []
    finding = Finding(
        kind=FindingKind.CHANGE_OF_MIND,
        value=float(found.net.value[0]),
        low=or_none(found.net.low[0]),
        high=or_none(found.net.high[0]),
        unit="share",
        p_value=float(found.net.p_value[0]),
        n=int(found.compared.sum()),
    )
    return [Candidate(finding=finding, large=abs(finding.value) >= rule.net_change)]


def follower_candidates(first: ClassTable, second: ClassTable, suggested: Codes, rule: Rules) -> list[Candidate]:
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


def _follower(student: str | None, went: int, could: int, p_value: float, rule: Rules) -> Candidate:
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
    return Candidate(finding=finding, large=went / could >= rule.followed)
