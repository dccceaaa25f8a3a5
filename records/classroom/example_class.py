"""An example class whose students are invented, so that a newcomer sees a review before there is a class.

Made in one transaction from photos that came with the program, and known by its line in the audit log, not by its
title. It can be taken out again with all that was made for it.
"""

import secrets
from collections.abc import Mapping, Sequence
from datetime import timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.attempt.attempt_values import Order, Step
from records.attempt.attempts import begun
from records.auditing.audit import append
from records.classroom.class_values import KeyRule, Part
from records.classroom.example_values import HANDLE, MADE, ExampleClass, ExamplePhoto, ExampleWords, ExampleWork
from records.classroom.membership import add_member
from records.errors import InvalidRecord
from records.identity.people import Person, Role, add_person
from records.models import (
    AssignmentRow,
    AttemptRow,
    AuditRow,
    ClassRow,
    KeyRow,
    MeasurementRow,
    MemberRow,
    PhotoRow,
    PointsRow,
    SetRow,
    SheetRow,
)
from records.rights import Right, service
from records.storage.stored_json import stored_landmarks, stored_sheet
from records.store import Store
from records.teaching_sets.drafts import add_version, new_place
from records.teaching_sets.publishing import put_in_force
from rubric.scoring import key_from_json
from vision.landmark_files import landmarks_from_json

_KEPT_DAYS = 90


@service(Right.RUN_CLASS)
def example_photos(store: Store, person: Person) -> tuple[ExamplePhoto, ...]:  # noqa: ARG001
    """The photos that came with the program and have a key with points, in order of their title."""
    found = (
        select(PhotoRow.id, KeyRow.answers, KeyRow.landmarks)
        .join(KeyRow, KeyRow.photo_id == PhotoRow.id)
        .where(PhotoRow.sample_id.is_not(None), PhotoRow.removed_at.is_(None), KeyRow.landmarks.is_not(None))
        .order_by(PhotoRow.title, PhotoRow.id)
    )
    with store.reading() as session:
        return tuple(
            ExamplePhoto(photo_id=photo_id, key=key_from_json(answers), landmarks=landmarks_from_json(points))
            for photo_id, answers, points in session.execute(found)
        )


@service(Right.RUN_CLASS)
def example_class_of(store: Store, person: Person) -> ExampleClass | None:
    """The example that this person runs; None where there is none."""
    with store.reading() as session:
        return _example(session, person)


def _example(session: Session, person: Person) -> ExampleClass | None:
    found = (
        select(AssignmentRow.class_id, AssignmentRow.id)
        .join(ClassRow, ClassRow.id == AssignmentRow.class_id)
        .join(MemberRow, MemberRow.class_id == ClassRow.id)
        .join(AuditRow, AuditRow.object_id == ClassRow.id)
        .where(
            AuditRow.action == MADE,
            MemberRow.person_id == person.id,
            MemberRow.part == Part.INSTRUCTOR.value,
            MemberRow.left_at.is_(None),
            ClassRow.erased_at.is_(None),
        )
        .order_by(AssignmentRow.given_at, AssignmentRow.id)
    )
    row = session.execute(found).first()
    return None if row is None else ExampleClass(class_id=row[0], work_id=row[1])


@service(Right.RUN_CLASS)
def add_example_class(
    store: Store,
    person: Person,
    words: ExampleWords,
    students: Sequence[Mapping[str, ExampleWork]],
    *,
    photo_ids: Sequence[str],
    measure_version: str,
    checklist_version: str,
) -> ExampleClass:
    """Make class, set and work, and let invented students hand in; where the person has an example already, that one.

    Parameters
    ----------
    students : for each student, photo id -> what is handed in on it
        Their handles say that they are examples; they have no account.
    photo_ids : sequence of str
        Photos that came with the program, in their order.

    Raises
    ------
    InvalidRecord
        For no photo, or one that did not come with the program.
    """
    with store.writing() as session:
        there = _example(session, person)
        if there is not None:
            return there
        photos = [session.get(PhotoRow, photo_id) for photo_id in photo_ids]
        shipped = [photo for photo in photos if photo is not None and photo.sample_id is not None]
        if not photos or len(shipped) < len(photos):
            raise InvalidRecord("An example is made of photos that came with the program; some of these did not.")
        work = _given(store, session, person, words, shipped, checklist_version)
        for number, by_photo in enumerate(students, start=1):
            one = _invented(store, session, person, work.class_id, number)
            for slot, photo in enumerate(shipped, start=1):
                if photo.id in by_photo:
                    row = _handed_in(store, work, one, slot, photo, by_photo[photo.id])
                    row.measurement = MeasurementRow(
                        measures=dict(by_photo[photo.id].measures),
                        measure_version=measure_version,
                        checklist_version=checklist_version,
                    )
                    session.add(row)
            session.flush()
        append(store, session, actor_id=person.id, action=MADE, object_id=work.class_id)
        return ExampleClass(class_id=work.class_id, work_id=work.id)


def _given(
    store: Store,
    session: Session,
    person: Person,
    words: ExampleWords,
    photos: Sequence[PhotoRow],
    checklist_version: str,
) -> AssignmentRow:
    made = SetRow(id=secrets.token_hex(16), owner_id=person.id, title=words.set_title, made_at=store.now(), versions=[])
    session.add(made)
    version = add_version(store, made)
    version.photos.extend(new_place(photo.id, position) for position, photo in enumerate(photos, start=1))
    session.flush()
    for place in version.photos:
        session.refresh(place, ["photo"])
    put_in_force(store, session, version, by=person.id, checklist_version=checklist_version)
    group = ClassRow(
        id=secrets.token_hex(16),
        title=words.class_title,
        made_by=person.id,
        made_at=store.now(),
        keep_until=store.today() + timedelta(days=_KEPT_DAYS),
    )
    session.add(group)
    session.flush()
    add_member(session, group.id, person.id, Part.INSTRUCTOR.value, at=store.now())
    work = AssignmentRow(
        id=secrets.token_hex(16),
        class_id=group.id,
        version_id=version.id,
        title=words.work_title,
        given_by=person.id,
        given_at=store.now(),
        order_of_work=Order.SCORE_FIRST.value,
        places_twice=False,
        hidden_repeat=False,
        key_rule=KeyRule.AFTER_EACH.value,
    )
    session.add(work)
    session.flush()
    return work


def _invented(store: Store, session: Session, person: Person, class_id: str, number: int) -> Person:
    handle = f"{HANDLE} {number:02} ({class_id[:6]})"
    one = add_person(store, session, handle, frozenset({Role.STUDENT}), given_by=person.id)
    add_member(session, class_id, one.id, Part.STUDENT.value, at=store.now())
    return one


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
