"""Classes: made by an instructor, joined by students, kept until a day that is named when the class is made."""

import secrets
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from records.access import instructed_class, part_in
from records.auditing.audit import append
from records.classroom.class_values import ClassRecord, MemberRecord, Part
from records.classroom.membership import add_member
from records.errors import InvalidRecord, NotFound
from records.identity.handles import folded
from records.identity.people import Person, Role
from records.models import AssignmentRow, ClassRow, MemberRow, PersonRow, RoleRow
from records.rights import Right, service
from records.store import Store
from records.wording import required_text
from rubric.natural_order import natural

#: Longer than any course needs its students' work.
LONGEST_DAYS = 3 * 366


@service(Right.RUN_CLASS)
def new_class(store: Store, person: Person, *, title: str, keep_until: date) -> ClassRecord:
    """A class that the person runs.

    Parameters
    ----------
    title : str
        1 to 80 characters.
    keep_until : date
        The last day on which the class's work is kept; afterwards it is erased.

    Raises
    ------
    InvalidRecord
    """
    named, last = required_text("the name of the class", title), _kept_until(store, keep_until)
    with store.writing() as session:
        row = ClassRow(id=secrets.token_hex(16), title=named, made_by=person.id, made_at=store.now(), keep_until=last)
        session.add(row)
        session.flush()
        add_member(session, row.id, person.id, Part.INSTRUCTOR.value, at=store.now())
        append(store, session, actor_id=person.id, action="new_class", object_id=row.id)
        session.flush()
        return class_record(session, row)


def _kept_until(store: Store, day: date) -> date:
    ahead = (day - store.today()).days
    if not 0 <= ahead <= LONGEST_DAYS:
        raise InvalidRecord(
            f"A class's work is kept until a day between today and {LONGEST_DAYS} days from now, got {day}."
        )
    return day


@service(Right.RUN_CLASS)
def change_class(store: Store, person: Person, class_id: str, *, title: str, keep_until: date) -> ClassRecord:
    """Another name, or another day until which its work is kept. Raises as `new_class`, and NotFound, NotAllowed."""
    named, last = required_text("the name of the class", title), _kept_until(store, keep_until)
    with store.writing() as session:
        row = instructed_class(session, person, class_id, to_change=True)
        row.title, row.keep_until = named, last
        append(store, session, actor_id=person.id, action="change_class", object_id=row.id)
        session.flush()
        return class_record(session, row)


@service(Right.RUN_CLASS)
def list_classes(store: Store, person: Person) -> tuple[ClassRecord, ...]:
    """The classes that this person runs, newest first."""
    return _classes_of(store, person, Part.INSTRUCTOR)


@service(Right.JOIN_CLASS)
def my_classes(store: Store, person: Person) -> tuple[ClassRecord, ...]:
    """The classes to which this person belongs as a student, newest first."""
    return _classes_of(store, person, Part.STUDENT)


def _classes_of(store: Store, person: Person, part: Part) -> tuple[ClassRecord, ...]:
    mine = (
        select(ClassRow)
        .join(MemberRow, MemberRow.class_id == ClassRow.id)
        .where(
            MemberRow.person_id == person.id,
            MemberRow.part == part.value,
            MemberRow.left_at.is_(None),
            ClassRow.erased_at.is_(None),
        )
        .order_by(ClassRow.made_at.desc(), ClassRow.id)
    )
    with store.reading() as session:
        return tuple(class_record(session, row) for row in session.scalars(mine).all())


@service(Right.RUN_CLASS)
def get_class(store: Store, person: Person, class_id: str) -> ClassRecord:
    """One class that this person runs. Raises NotFound, NotAllowed."""
    with store.reading() as session:
        return class_record(session, instructed_class(session, person, class_id))


@service(Right.RUN_CLASS)
def members(store: Store, person: Person, class_id: str) -> tuple[MemberRecord, ...]:
    """Who belongs to a class now: instructors first, then students by name. Raises NotFound, NotAllowed."""
    there = (
        select(MemberRow, PersonRow.handle)
        .join(PersonRow, PersonRow.id == MemberRow.person_id)
        .where(MemberRow.class_id == class_id, MemberRow.left_at.is_(None))
    )
    with store.reading() as session:
        instructed_class(session, person, class_id)
        found = [
            MemberRecord(
                person_id=row.person_id,
                handle=handle,
                part=Part(row.part),
                joined_at=row.joined_at,
                left_at=row.left_at,
            )
            for row, handle in session.execute(there)
        ]
        return tuple(sorted(found, key=lambda one: (one.part, natural(one.handle))))


@service(Right.RUN_CLASS)
def add_instructor(store: Store, person: Person, class_id: str, *, handle: str) -> None:
    """Let another instructor, by the name that he or she goes by here, run the class too.

    Raises
    ------
    NotFound, NotAllowed
    InvalidRecord
        Where nobody of that name is an instructor, or he or she is a student of this class.
    """
    with store.writing() as session:
        instructed_class(session, person, class_id, to_change=True)
        other_id = _instructor_called(session, handle)
        row = session.get(MemberRow, (class_id, other_id))
        if row is None:
            add_member(session, class_id, other_id, Part.INSTRUCTOR.value, at=store.now())
        elif row.part == Part.STUDENT:
            raise InvalidRecord("Whoever has been a student of this class cannot run it as well.")
        else:
            row.left_at = None
        append(store, session, actor_id=person.id, action="add_instructor", object_id=other_id)


def _instructor_called(session: Session, handle: str) -> str:
    found = (
        select(PersonRow.id)
        .join(RoleRow, RoleRow.person_id == PersonRow.id)
        .where(
            PersonRow.handle.in_((handle.strip(), folded(handle))),
            PersonRow.erased_at.is_(None),
            RoleRow.role == Role.INSTRUCTOR.value,
        )
    )
    other_id = session.scalar(found.limit(1))
    if other_id is None:
        raise InvalidRecord("Nobody who goes by this name here holds the role of an instructor.")
    return other_id


@service(Right.JOIN_CLASS)
def leave(store: Store, person: Person, class_id: str) -> None:
    """Leave a class; what was handed in stays with it until its time is over.

    Raises
    ------
    NotFound
        For a class to which the person does not belong.
    InvalidRecord
        For the only instructor of a class.
    """
    with store.writing() as session:
        if part_in(session, person, class_id) is None:
            raise NotFound("You do not belong to this class.")
        _end(store, session, class_id, person.id)
        append(store, session, actor_id=person.id, action="leave", object_id=class_id)


@service(Right.RUN_CLASS)
def remove_member(store: Store, person: Person, class_id: str, other_id: str) -> None:
    """Take someone out of a class. Raises NotFound, NotAllowed, and InvalidRecord for the only instructor."""
    with store.writing() as session:
        instructed_class(session, person, class_id, to_change=True)
        if session.get(MemberRow, (class_id, other_id)) is None:
            raise NotFound("This person does not belong to the class.")
        _end(store, session, class_id, other_id)
        append(store, session, actor_id=person.id, action="remove_member", object_id=other_id)


def _end(store: Store, session: Session, class_id: str, person_id: str) -> None:
    row = session.get_one(MemberRow, (class_id, person_id))
    running = select(func.count()).where(
        MemberRow.class_id == class_id, MemberRow.part == Part.INSTRUCTOR.value, MemberRow.left_at.is_(None)
    )
    if row.part == Part.INSTRUCTOR and session.scalar(running) == 1:
        raise InvalidRecord("A class needs someone who runs it; let another instructor in first.")
    if row.left_at is None:
        row.left_at = store.now()


def class_record(session: Session, row: ClassRow) -> ClassRecord:
    """The row as the rest of the program sees it."""
    students = select(func.count()).where(
        MemberRow.class_id == row.id, MemberRow.part == Part.STUDENT.value, MemberRow.left_at.is_(None)
    )
    given = select(func.count()).where(AssignmentRow.class_id == row.id)
    return ClassRecord(
        id=row.id,
        title=row.title,
        made_at=row.made_at,
        keep_until=row.keep_until,
        n_students=session.scalar(students) or 0,
        n_assignments=session.scalar(given) or 0,
    )


def labels_in(session: Session, class_id: str) -> dict[str, str]:
    """Person id -> "Student 1" and so on, by the number that each was given on joining and that nobody else is given."""
    joined = (
        select(MemberRow.person_id, MemberRow.number)
        .where(MemberRow.class_id == class_id, MemberRow.part == Part.STUDENT.value)
        .order_by(MemberRow.number, MemberRow.joined_at, MemberRow.person_id)
    )
    return {person_id: f"Student {number}" for person_id, number in session.execute(joined)}
