"""All that a class handed in to one assignment, laid out for whoever reviews it: tables, not people."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from types import MappingProxyType
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute, Session

from records.attempt.attempt_values import Order
from records.classroom.assignment_progress import left_out_counts, students_in
from records.classroom.class_values import AssignmentRecord
from records.classroom.slots import photos_of, places_of
from records.errors import NotFound
from records.key.keys import frozen_key_of
from records.models import AssignmentRow, AttemptRow, ClassRow, MeasurementRow, PointsRow, ReviewRow, SheetRow
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


def answers_in(session: Session, row: AssignmentRow, record: AssignmentRecord, *, with_names: bool) -> ClassAnswers:
    """Read it all, within a transaction."""
    attempts = _handed_in(session, row.id)
    sheets = _by_round(session, row.id, SheetRow.attempt_id, SheetRow.round, SheetRow.answers)
    points = _by_round(session, row.id, PointsRow.attempt_id, PointsRow.round, PointsRow.landmarks)
    reviews = _reviews(session, row.id)
    there = {attempt.person_id for attempt in attempts}
    people = [one for one in students_in(session, row.class_id) if one[0] in there or not one[3]]
    at = {person_id: number for number, (person_id, *_) in enumerate(people)}
    last = {(one.person_id, one.slot): one.try_number for one in attempts}
    return ClassAnswers(
        assignment=record,
        class_title=session.get_one(ClassRow, row.class_id).title,
        slots=class_slots(row),
        students=tuple(
            ClassStudent(
                label=label,
                person_id=person_id if with_names else None,
                handle=handle if with_names else None,
                left_class=gone,
            )
            for person_id, label, handle, gone in people
        ),
        submissions=tuple(
            Submission(
                attempt_id=one.id,
                student=at[one.person_id],
                slot=one.slot,
                try_number=one.try_number,
                latest=one.try_number == last[(one.person_id, one.slot)],
                order=Order(one.order_of_work),
                started_at=one.started_at,
                handed_in_at=one.handed_in_at,
                late=row.due_at is not None and one.handed_in_at > row.due_at,
                sheets=sheets[one.id],
                points=points[one.id],
                measures=MappingProxyType(one.measures),
                measure_version=one.measure_version,
                checklist_version=one.checklist_version,
                review=reviews.get(one.id),
            )
            for one in attempts
            if one.person_id in at
        ),
        left_out=left_out_counts(session, row.id),
    )


def _handed_in(session: Session, assignment_id: str) -> Sequence[Any]:
    """All tries that were handed in, by slot, then by try: plain rows, since a large class has tens of thousands."""
    found = (
        select(
            AttemptRow.id,
            AttemptRow.person_id,
            AttemptRow.slot,
            AttemptRow.try_number,
            AttemptRow.order_of_work,
            AttemptRow.started_at,
            AttemptRow.handed_in_at,
            MeasurementRow.measures,
            MeasurementRow.measure_version,
            MeasurementRow.checklist_version,
        )
        .join(MeasurementRow, MeasurementRow.attempt_id == AttemptRow.id)
        .where(AttemptRow.assignment_id == assignment_id, AttemptRow.handed_in_at.is_not(None))
        .order_by(AttemptRow.slot, AttemptRow.try_number, AttemptRow.handed_in_at, AttemptRow.id)
    )
    return session.execute(found).all()


def _by_round(
    session: Session,
    assignment_id: str,
    attempt_id: InstrumentedAttribute[str],
    round: InstrumentedAttribute[int],
    stored: InstrumentedAttribute[Json],
) -> defaultdict[str, dict[int, Json]]:
    """Attempt -> round -> what is stored."""
    of_work = (
        select(attempt_id, round, stored)
        .join(AttemptRow, AttemptRow.id == attempt_id)
        .where(AttemptRow.assignment_id == assignment_id)
    )
    found: defaultdict[str, dict[int, Json]] = defaultdict(dict)
    for one, number, value in session.execute(of_work):
        found[one][number] = value
    return found


def _reviews(session: Session, assignment_id: str) -> dict[str, str]:
    reviews = (
        select(ReviewRow.attempt_id, ReviewRow.state)
        .join(AttemptRow, AttemptRow.id == ReviewRow.attempt_id)
        .where(AttemptRow.assignment_id == assignment_id)
    )
    return {row.attempt_id: row.state for row in session.execute(reviews)}


def class_slots(row: AssignmentRow) -> tuple[ClassSlot, ...]:
    """The places of an assignment with photos and frozen keys."""
    repeat = places_of(row).repeat
    slots = []
    for slot, place in enumerate(photos_of(row), start=1):
        gone = place.removed_at is not None or place.photo.removed_at is not None
        try:
            key = frozen_key_of(place)
        except NotFound:
            key = None
        slots.append(
            ClassSlot(
                slot=slot,
                photo_id=None if gone else place.photo_id,
                title=None if gone else place.photo.title,
                difficulty=place.difficulty,
                note=place.note,
                key=key.key if key else None,
                key_landmarks=key.landmarks if key else None,
                repeats=repeat[0] if repeat and slot == repeat[1] else None,
            )
        )
    return tuple(slots)
