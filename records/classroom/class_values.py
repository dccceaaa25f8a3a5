"""What the rest of the program sees of a class and of the work that it is given."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from records.attempt.attempt_values import Order


class Part(StrEnum):
    """What someone is in a class."""

    INSTRUCTOR = "instructor"
    STUDENT = "student"


class KeyRule(StrEnum):
    """When a student may see the reference key to a photo that he or she handed in."""

    AFTER_EACH = "after_each"
    AFTER_DUE = "after_due"
    WHEN_OPENED = "when_opened"


class SlotState(StrEnum):
    """How far one student is with one place of an assignment."""

    NOT_BEGUN = "not_begun"
    BEGUN = "begun"
    HANDED_IN = "handed_in"
    HANDED_BACK = "handed_back"
    LEFT_OUT = "left_out"
    REMOVED = "removed"


#: Places at which there is nothing left to do for the student.
FINISHED = frozenset({SlotState.HANDED_IN, SlotState.LEFT_OUT, SlotState.REMOVED})


@dataclass(frozen=True, kw_only=True)
class ClassRecord:
    """A class; `keep_until` is the last day on which its work is kept, `n_students` counts those who belong to it now."""

    id: str
    title: str
    made_at: datetime
    keep_until: date
    n_students: int
    n_assignments: int


@dataclass(frozen=True, kw_only=True)
class MemberRecord:
    """Someone's place in a class; `left_at` is None for whoever belongs to it now. Times in UTC."""

    person_id: str
    handle: str
    part: Part
    joined_at: datetime
    left_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class AssignmentRecord:
    """A published version of a set as it was given to a class.

    Parameters
    ----------
    id, class_id, version_id, title : str
    given_at : datetime
        UTC, as all times here.
    due_at : datetime or None
        Handing in later is allowed, and marked.
    order : Order
    places_twice : bool
        Whether the points are placed a second time, blind, before handing in.
    hidden_repeat : bool
        Whether one photo comes a second time; for whoever runs the class. Students' records say False.
    key_rule : KeyRule
    key_opened_at, closed_at : datetime or None
    n_slots : int
        How many places it has; the repeat has one of its own.
    """

    id: str
    class_id: str
    version_id: str
    title: str
    given_at: datetime
    due_at: datetime | None
    order: Order
    places_twice: bool
    hidden_repeat: bool
    key_rule: KeyRule
    key_opened_at: datetime | None
    closed_at: datetime | None
    n_slots: int


@dataclass(frozen=True, kw_only=True)
class MySlot:
    """One place of an assignment as the student sees it.

    Parameters
    ----------
    slot : int
        From 1.
    state : SlotState
    attempt_id : str or None
        The try under way, else the latest that was handed in.
    try_number : int
        Of that attempt; 0 without one.
    late : bool
        Whether that attempt was handed in after the due date.
    n_comments : int
        What the instructor wrote on tries at this place.
    repeats : int or None
        The place whose photo came again here; told only once nothing is left to do.
    """

    slot: int
    state: SlotState
    attempt_id: str | None
    try_number: int
    late: bool
    n_comments: int
    repeats: int | None


@dataclass(frozen=True, kw_only=True)
class MyAssignment:
    """An assignment with how far this student is."""

    assignment: AssignmentRecord
    class_title: str
    slots: tuple[MySlot, ...]
    left_out: bool
    late_now: bool

    @property
    def next_slot(self) -> MySlot | None:
        """Where to go on: a try that came back, one under way, or else the first that is not begun."""
        if self.left_out or self.assignment.closed_at is not None:
            return None
        for wanted in (SlotState.BEGUN, SlotState.HANDED_BACK, SlotState.NOT_BEGUN):
            for slot in self.slots:
                if slot.state == wanted:
                    return slot
        return None

    @property
    def n_done(self) -> int:
        """Places at which nothing is left to do."""
        return sum(slot.state in FINISHED for slot in self.slots)


@dataclass(frozen=True, kw_only=True)
class StudentLine:
    """How far one student is, by label: slot -> state, where left out reads as not begun."""

    label: str
    person_id: str | None
    handle: str | None
    left_class: bool
    states: Mapping[int, SlotState]
    late: frozenset[int]


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far a class is with an assignment.

    Parameters
    ----------
    assignment : AssignmentRecord
    students : tuple of StudentLine
    left_out : mapping of slot to int
        How many students left that photo out (0: the whole work); never who.
    removed : frozenset of int
        Slots whose photo is gone.
    repeat : (first slot, second slot) or None
    """

    assignment: AssignmentRecord
    students: tuple[StudentLine, ...]
    left_out: Mapping[int, int]
    removed: frozenset[int]
    repeat: tuple[int, int] | None
