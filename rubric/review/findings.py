"""What stands out in a class, each with its interval and only where chance does not explain it.

One rule for all: a finding is reported where (1) its test stays below its part of the class's error rate after Holm's correction
within its kind, and (2) it is large enough to matter for teaching (`Rules`). The kinds share the error rate equally, so in a
class where nothing is to be found the review stays silent in at least 1 - `error_rate` of cases.

Items are compared within one student's answers about one photo, photos within one student's answers to one item, students on the
same items and photos; so a careful student or a hard photo makes nobody and nothing else look different. Disputed items are
left out of all of it.
"""

from dataclasses import dataclass, replace

import numpy as np

from rubric.comparing import holm
from rubric.review.angles import AngleTable
from rubric.review.finding import Candidate, Finding, FindingKind, Rules
from rubric.review.finding_patterns import (
    change_candidates,
    class_angle_candidates,
    follower_candidates,
    halo_candidates,
    student_angle_candidates,
)
from rubric.review.finding_shares import (
    item_candidates,
    over_claiming_candidates,
    photo_candidates,
    spot_candidates,
    student_candidates,
)
from rubric.review.table import FEWEST_TOLD, ClassTable, Codes

__all__ = ["ClassWork", "Finding", "FindingKind", "Rules", "class_findings"]


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
        item_candidates(table, wrong, rule),
        photo_candidates(table, wrong, rule),
        spot_candidates(table, rule),
        over_claiming_candidates(table, wrong, rule),
        student_candidates(table, FindingKind.STUDENT_OVER_CLAIMS, rule),
        student_candidates(table, FindingKind.STUDENT_UNDER_CLAIMS, rule),
        [found for angles in work.angles for found in class_angle_candidates(angles, rule)],
        [found for angles in work.angles for found in student_angle_candidates(angles, rule)],
        *_patterns(work, rule),
    ]
    level = rule.error_rate / len(FindingKind)
    findings = [found for family in families for found in _significant(family, level)]
    return tuple(sorted(findings, key=lambda found: (found.p_value, -abs(found.value))))


def _significant(family: list[Candidate], level: float) -> list[Finding]:
    adjusted = holm(np.array([candidate.finding.p_value for candidate in family]))
    pairs = zip(family, adjusted, strict=True)
    return [replace(one.finding, p_value=float(p)) for one, p in pairs if one.large and p <= level]


def _patterns(work: ClassWork, rule: Rules) -> list[list[Candidate]]:
    table = work.second or work.first
    families = [halo_candidates(table, rule)]
    if work.second is not None:
        families.append(change_candidates(work.first, work.second, rule))
        if work.suggested is not None:
            families.append(follower_candidates(work.first, work.second, work.suggested, rule))
    return families
