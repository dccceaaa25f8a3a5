"""All that a class handed in to one assignment, laid out for whoever reviews it: tables, not people."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, lazyload, selectinload

from records.assignment_progress import is_late, left_out_counts, students_in
from records.attempt_values import Order, points_of, sheets_of
from records.class_values import AssignmentRecord
from records.errors import NotFound
from records.keys import frozen_key_of
from records.models import AssignmentRow, AttemptRow, ClassRow, ReviewRow
from records.slots import photos_of, places_of
from rubric.answers import Answer, AnswerSheet, ReferenceKey
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
    first, final : AnswerSheet
        The look before the measures, and the one that counts; the same sheet where there was one look only.
    landmarks, landmarks_again : LandmarkSet
        Of the first and of the blind second round; empty where nothing was placed, or once the photo is gone.
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
    first: AnswerSheet
    final: AnswerSheet
    landmarks: LandmarkSet
    landmarks_again: LandmarkSet
    measures: Mapping[str, Any]
    measure_version: str
    checklist_version: str
    review: str | None


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

    def answers_at(
        self, slot: int, item_ids: Sequence[str], *, first: bool = False
    ) -> tuple[tuple[Answer | None, ...], ...]:
        """One row a student (in the order of `students`), one column an item; None for a blank or nothing handed in."""
        given = {one.student: (one.first if first else one.final) for one in self.latest() if one.slot == slot}
        empty = AnswerSheet()
        return tuple(
            tuple(_said(given.get(student, empty), item_id) for item_id in item_ids)
            for student in range(len(self.students))
        )


def _said(sheet: AnswerSheet, item_id: str) -> Answer | None:
    answer = sheet.answers.get(item_id)
    return None if answer is None else answer.answer


def answers_in(session: Session, row: AssignmentRow, record: AssignmentRecord, *, with_names: bool) -> ClassAnswers:
    """Read it all, within a transaction."""
    attempts = _handed_in(session, row.id)
    there = {attempt.person_id for attempt in attempts}
    people = [one for one in students_in(session, row.class_id) if one[0] in there or not one[3]]
    at = {person_id: number for number, (person_id, *_) in enumerate(people)}
    last = {(one.person_id, one.slot): one.try_number for one in attempts}
    states: dict[str, str] = {}
    reviews = (
        select(ReviewRow.attempt_id, ReviewRow.state)
        .join(AttemptRow, AttemptRow.id == ReviewRow.attempt_id)
        .where(AttemptRow.assignment_id == row.id)
    )
    for attempt_id, state in session.execute(reviews):
        states[attempt_id] = state
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
            _submission(row, one, at[one.person_id], last[(one.person_id, one.slot)], states.get(one.id))
            for one in attempts
            if one.person_id in at
        ),
        left_out=left_out_counts(session, row.id),
    )


def _handed_in(session: Session, assignment_id: str) -> Sequence[AttemptRow]:
    """All tries that were handed in, by slot, then by try."""
    found = (
        select(AttemptRow)
        .where(AttemptRow.assignment_id == assignment_id, AttemptRow.handed_in_at.is_not(None))
        .options(
            lazyload(AttemptRow.photo),
            selectinload(AttemptRow.sheets),
            selectinload(AttemptRow.points),
            selectinload(AttemptRow.measurement),
        )
        .order_by(AttemptRow.slot, AttemptRow.try_number, AttemptRow.handed_in_at, AttemptRow.id)
    )
    return session.scalars(found).all()


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


def _submission(row: AssignmentRow, one: AttemptRow, student: int, last: int, review: str | None) -> Submission:
    assert one.handed_in_at is not None
    assert one.measurement is not None
    sheets, points = sheets_of(one), points_of(one)
    return Submission(
        attempt_id=one.id,
        student=student,
        slot=one.slot or 0,
        try_number=one.try_number,
        latest=one.try_number == last,
        order=Order(one.order_of_work),
        started_at=one.started_at,
        handed_in_at=one.handed_in_at,
        late=is_late(row, one),
        first=sheets[min(sheets)].sheet,
        final=sheets[max(sheets)].sheet,
        landmarks=points[1].landmarks if 1 in points else LandmarkSet(),
        landmarks_again=points[2].landmarks if 2 in points else LandmarkSet(),
        measures=MappingProxyType(one.measurement.measures),
        measure_version=one.measurement.measure_version,
        checklist_version=one.measurement.checklist_version,
        review=review,
    )
