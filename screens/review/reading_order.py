"""In which order an instructor reads what a class handed in."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from records.classroom.class_answer_values import ClassAnswers, Submission
from rubric.feedback import Outcome, compare_with_key
from rubric.items import Checklist

_APART = frozenset({Outcome.DIFFERS, Outcome.OVER_CLAIMED, Outcome.UNDER_CLAIMED, Outcome.BLANK})


class Sorted(StrEnum):
    """What comes first."""

    MOST_DIFFERENT = "most_different"
    NOT_LOOKED_AT = "not_looked_at"


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One try, and at how many of the key's signs it stands apart from the key; `n_signs` 0 where there is no key."""

    submission: Submission
    label: str
    handle: str | None
    n_apart: int
    n_signs: int


def readings(
    answers: ClassAnswers,
    checklist: Checklist,
    order: Sorted,
    *,
    slot: int | None = None,
    parted: Mapping[int, Collection[str]] = MappingProxyType({}),
) -> tuple[Reading, ...]:
    """The last try of each student at each slot (or at one), sorted.

    MOST_DIFFERENT: by how many signs differ from the key, are said beyond it, or are blank. NOT_LOOKED_AT: what nobody
    looked at first, oldest hand-in first. What is done comes last in both. `parted` holds, by slot, the signs on which
    the experts part: they count for nothing here.
    """
    found = [
        _reading(answers, one, checklist, parted.get(one.slot, ()))
        for one in answers.latest()
        if slot in (None, one.slot)
    ]
    if order == Sorted.MOST_DIFFERENT:
        return tuple(sorted(found, key=lambda one: (_is_done(one), -one.n_apart, *_when(one))))
    return tuple(sorted(found, key=lambda one: (_is_done(one), one.submission.review is not None, *_when(one))))


def _is_done(one: Reading) -> bool:
    return one.submission.review == "done"


def _when(one: Reading) -> tuple[float, str]:
    return one.submission.handed_in_at.timestamp(), one.submission.attempt_id


def _reading(answers: ClassAnswers, one: Submission, checklist: Checklist, parted: Collection[str]) -> Reading:
    student, key = answers.students[one.student], answers.slots[one.slot - 1].key
    result = None if key is None else compare_with_key(checklist, one.final, key, disputed=parted)
    outcomes = [] if result is None else [entry.outcome for entry in result.items]
    return Reading(
        submission=one,
        label=student.label,
        handle=student.handle,
        n_apart=sum(outcome in _APART for outcome in outcomes),
        n_signs=sum(outcome not in (Outcome.NOT_IN_KEY, Outcome.PARTED) for outcome in outcomes),
    )
