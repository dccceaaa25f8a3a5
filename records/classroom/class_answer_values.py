"""What a class handed in, laid out for whoever reviews it: places, students by label, and tries."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any

from records.attempt.attempt_values import Order
from records.classroom.class_values import AssignmentRecord
from records.storage.stored_json import Json
from rubric.answers import AnswerSheet, ReferenceKey
from rubric.scoring import sheet_from_json
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet


@dataclass(frozen=True, kw_only=True)
class ClassSlot:
    """One place of the assignment with the photo and the frozen key there.

    Parameters
    ----------
    slot : int
        From 1.
    photo_id, title : str or None
        None once the photo is gone; the key's answers stay then, without landmarks.
    difficulty : int
        1 plain, 2, 3 hard.
    note : str
        The educator's, for whoever teaches.
    key : ReferenceKey or None
    key_landmarks : LandmarkSet or None
    repeats : int or None
        The earlier slot whose photo comes again here.
    """

    slot: int
    photo_id: str | None
    title: str | None
    difficulty: int
    note: str
    key: ReferenceKey | None
    key_landmarks: LandmarkSet | None
    repeats: int | None


@dataclass(frozen=True, kw_only=True)
class ClassStudent:
    """A student by label; id and name only where they were asked for."""

    label: str
    person_id: str | None
    handle: str | None
    left_class: bool


@dataclass(frozen=True, kw_only=True)
class Submission:
    """One try that was handed in.

    Parameters
    ----------
    attempt_id : str
    student : int
        Position in `ClassAnswers.students`.
    slot, try_number : int
    latest : bool
        Whether it is this student's last try at this slot that was handed in.
    order : Order
    started_at, handed_in_at : datetime
        UTC.
    late : bool
    sheets, points : mapping of round to JSON
        As stored; `first`, `final` and `landmarks` read them when they are asked for.
    measures : mapping
        As at handing in; plain JSON.
    measure_version, checklist_version : str
    review : str or None
        "looked_at", "handed_back", "done", or None while nobody looked.
    """

    attempt_id: str
    student: int
    slot: int
    try_number: int
    latest: bool
    order: Order
    started_at: datetime
    handed_in_at: datetime
    late: bool
    sheets: Mapping[int, Json] = field(repr=False)
    points: Mapping[int, Json] = field(repr=False)
    measures: Mapping[str, Any]
    measure_version: str
    checklist_version: str
    review: str | None

    @cached_property
    def first(self) -> AnswerSheet:
        """The look before the measures; the only one where there was one."""
        return sheet_from_json(self.sheets[min(self.sheets)])

    @cached_property
    def final(self) -> AnswerSheet:
        """The answers that count."""
        return sheet_from_json(self.sheets[max(self.sheets)])

    @cached_property
    def landmarks(self) -> LandmarkSet:
        """The points of the first round; empty where nothing was placed, or once the photo is gone."""
        return landmarks_from_json(self.points[1]) if 1 in self.points else LandmarkSet()


@dataclass(frozen=True, kw_only=True)
class ClassAnswers:
    """Everything handed in to one assignment; `left_out` counts by slot (0: the whole work), never by student."""

    assignment: AssignmentRecord
    class_title: str
    slots: tuple[ClassSlot, ...]
    students: tuple[ClassStudent, ...]
    submissions: tuple[Submission, ...]
    left_out: Mapping[int, int]

    def latest(self) -> tuple[Submission, ...]:
        """The last try of each student at each slot."""
        return tuple(one for one in self.submissions if one.latest)
