"""Invented students whose answers were simulated, so that a newcomer sees a class at work before there is one."""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from records.access import instructed_work
from records.attempt_values import Order, Step
from records.attempts import begun
from records.audit import append
from records.class_values import Part
from records.models import AssignmentRow, AttemptRow, MeasurementRow, MemberRow, PhotoRow, PointsRow, SheetRow
from records.people import Person, Role, add_person
from records.rights import Right, service
from records.slots import photos_of
from records.store import Store
from records.stored_json import stored_landmarks, stored_sheet
from rubric.answers import AnswerSheet
from vision.landmarks import LandmarkSet


@dataclass(frozen=True, kw_only=True)
class ExampleWork:
    """What one invented student hands in at one place: two looks, points, and the measures as a screen gives them."""

    first: AnswerSheet
    second: AnswerSheet
    landmarks: LandmarkSet
    measures: Mapping[str, Any]
    seconds: float


@service(Right.RUN_CLASS)
def add_example_students(
    store: Store,
    person: Person,
    assignment_id: str,
    students: Sequence[Mapping[int, ExampleWork]],
    *,
    measure_version: str,
    checklist_version: str,
) -> int:
    """Let invented students join the class and hand in; returns how many.

    Parameters
    ----------
    students : for each student, place in the assignment (from 1) -> what is handed in there
        Their handles say that they are examples; they have no account.

    Raises
    ------
    NotFound, NotAllowed
    """
    with store.writing() as session:
        work = instructed_work(session, person, assignment_id)
        photos = [place.photo for place in photos_of(work)]
        batch = secrets.token_hex(2)
        for number, by_slot in enumerate(students, start=1):
            handle = f"Example student {number:02} ({batch})"
            one = add_person(store, session, handle, frozenset({Role.STUDENT}), given_by=person.id)
            member = MemberRow(class_id=work.class_id, person_id=one.id, part=Part.STUDENT.value, joined_at=store.now())
            session.add(member)
            for slot, done in by_slot.items():
                row = _handed_in(store, work, one, slot, photos[slot - 1], done)
                row.measurement = MeasurementRow(
                    measures=dict(done.measures), measure_version=measure_version, checklist_version=checklist_version
                )
                session.add(row)
            session.flush()
        append(store, session, actor_id=person.id, action="add_example_students", object_id=work.class_id)
    return len(students)


def _handed_in(
    store: Store, work: AssignmentRow, one: Person, slot: int, photo: PhotoRow, done: ExampleWork
) -> AttemptRow:
    row = begun(store, one.id, photo, Order(work.order_of_work))
    row.assignment_id, row.slot = work.id, slot
    row.started_at = store.now() - timedelta(seconds=done.seconds)
    row.handed_in_at, row.step = store.now(), Step.HAND_IN.value
    for round_, sheet in ((1, done.first), (2, done.second)):
        row.sheets.append(SheetRow(round=round_, answers=stored_sheet(sheet), revision=1, saved_at=store.now()))
    points = stored_landmarks(done.landmarks)
    row.points.append(PointsRow(round=1, landmarks=points, revision=1, saved_at=store.now()))
    return row
