"""Reads all that a class handed in to one assignment: tables, not people."""

from collections import defaultdict
from collections.abc import Sequence
from types import MappingProxyType
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute, Session

from records.attempt.attempt_values import Order
from records.classroom.assignment_progress import left_out_counts, students_in
from records.classroom.class_answer_values import ClassAnswers, ClassSlot, ClassStudent, Submission
from records.classroom.class_values import AssignmentRecord
from records.classroom.slots import photos_of, places_of
from records.errors import NotFound
from records.key.keys import frozen_key_of
from records.models import AssignmentRow, AttemptRow, ClassRow, MeasurementRow, PointsRow, ReviewRow, SheetRow
from records.storage.stored_json import Json


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
            _submission(
                one,
                student=at[one.person_id],
                latest=one.try_number == last[(one.person_id, one.slot)],
                late=row.due_at is not None and one.handed_in_at > row.due_at,
                sheets=sheets[one.id],
                points=points[one.id],
                review=reviews.get(one.id),
            )
            for one in attempts
            if one.person_id in at
        ),
        left_out=left_out_counts(session, row.id),
    )


def _submission(attempt: Any, **more: Any) -> Submission:
    """Of a row of `_handed_in`, with what that does not tell."""
    return Submission(
        attempt_id=attempt.id,
        slot=attempt.slot,
        try_number=attempt.try_number,
        order=Order(attempt.order_of_work),
        started_at=attempt.started_at,
        handed_in_at=attempt.handed_in_at,
        measures=MappingProxyType(attempt.measures),
        measure_version=attempt.measure_version,
        checklist_version=attempt.checklist_version,
        **more,
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
