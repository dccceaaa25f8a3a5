"""Work given to a class: a published version of a set, in an order, with a due date and a rule for the key."""

import secrets
from datetime import datetime
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import instructed_class, instructed_work, part_in
from records.attempt.attempt_values import Order
from records.auditing.audit import append
from records.classroom.assignment_progress import my_assignment_of, progress_in
from records.classroom.class_values import AssignmentRecord, KeyRule, MyAssignment, Part, Progress
from records.classroom.slots import n_slots
from records.errors import InvalidRecord, NotAllowed, NotFound, NotReady
from records.identity.people import Person
from records.models import AssignmentRow, ClassRow, MemberRow, VersionRow
from records.rights import Right, service
from records.store import Store
from records.teaching_sets.publishing import hindrances_to_giving
from records.wording import required_text


@service(Right.RUN_CLASS)
def give(
    store: Store,
    person: Person,
    class_id: str,
    version_id: str,
    *,
    title: str,
    due_at: datetime | None = None,
    order: Order = Order.SCORE_FIRST,
    places_twice: bool = False,
    hidden_repeat: bool = False,
    key_rule: KeyRule = KeyRule.AFTER_EACH,
) -> AssignmentRecord:
    """Give a published version to a class.

    Parameters
    ----------
    title : str
        What students read: 1 to 80 characters that give nothing away.
    due_at : datetime or None
        With a time zone. Handing in later stays possible and is marked.
    order : Order
    places_twice : bool
        Whether the points are placed a second time, blind.
    hidden_repeat : bool
        Whether one photo comes again at a later place; nobody is told before all is handed in.
    key_rule : KeyRule
        AFTER_DUE needs a due date.

    Raises
    ------
    NotFound, NotAllowed
    InvalidRecord
        For a due date that is over, or missing where the rule needs it.
    NotReady
        With all reasons, for a version that is not published or holds a photo whose consent does not cover this class.
    """
    named = required_text("the title of the work", title)
    _check_due(store, due_at, key_rule)
    with store.writing() as session:
        instructed_class(session, person, class_id, to_change=True)
        version = session.get(VersionRow, version_id)
        if version is None:
            raise NotFound("There is no such version of a teaching set.")
        against = hindrances_to_giving(store, version, class_id)
        if against:
            raise NotReady(against)
        row = AssignmentRow(
            id=secrets.token_hex(16),
            class_id=class_id,
            version_id=version_id,
            title=named,
            given_by=person.id,
            given_at=store.now(),
            due_at=due_at,
            order_of_work=order.value,
            places_twice=places_twice,
            hidden_repeat=hidden_repeat,
            key_rule=key_rule.value,
        )
        session.add(row)
        append(store, session, actor_id=person.id, action="give", object_id=row.id)
        session.flush()
        session.refresh(row)
        return assignment_record(row)


def _check_due(store: Store, due_at: datetime | None, key_rule: KeyRule) -> None:
    if due_at is None:
        if key_rule == KeyRule.AFTER_DUE:
            raise InvalidRecord("A key that opens after the due date needs a due date.")
        return
    if due_at.tzinfo is None:
        raise InvalidRecord("The due date needs a time zone.")
    if due_at <= store.now():
        raise InvalidRecord(f"The due date must lie ahead, got {due_at:%Y-%m-%d %H:%M %Z}.")


@service(Right.RUN_CLASS)
def change_due(store: Store, person: Person, assignment_id: str, due_at: datetime | None) -> AssignmentRecord:
    """Another due date, or none. Raises NotFound, NotAllowed, InvalidRecord as `give`."""
    with store.writing() as session:
        row = instructed_work(session, person, assignment_id, to_change=True)
        _check_due(store, due_at, KeyRule(row.key_rule))
        row.due_at = due_at
        append(store, session, actor_id=person.id, action="change_due", object_id=row.id)
        session.flush()
        return assignment_record(row)


@service(Right.RUN_CLASS)
def close(store: Store, person: Person, assignment_id: str) -> AssignmentRecord:
    """Take no more work; what was saved stays. Once more changes nothing. Raises NotFound, NotAllowed."""
    return _set_moment(store, person, assignment_id, "closed_at", store.now(), action="close")


@service(Right.RUN_CLASS)
def reopen(store: Store, person: Person, assignment_id: str) -> AssignmentRecord:
    """Take work again. Raises NotFound, NotAllowed."""
    return _set_moment(store, person, assignment_id, "closed_at", None, action="reopen")


@service(Right.RUN_CLASS)
def open_key(store: Store, person: Person, assignment_id: str) -> AssignmentRecord:
    """Show the key to whoever handed in, whatever the rule was; it cannot be hidden again. Raises NotFound, NotAllowed."""
    return _set_moment(store, person, assignment_id, "key_opened_at", store.now(), action="open_key")


def _set_moment(
    store: Store,
    person: Person,
    assignment_id: str,
    moment: Literal["closed_at", "key_opened_at"],
    to: datetime | None,
    *,
    action: str,
) -> AssignmentRecord:
    """Set or clear that moment and log it; where it is set, or clear, already, nothing changes."""
    with store.writing() as session:
        row = instructed_work(session, person, assignment_id, to_change=True)
        if (getattr(row, moment) is None) is not (to is None):
            setattr(row, moment, to)
            append(store, session, actor_id=person.id, action=action, object_id=row.id)
        session.flush()
        return assignment_record(row)


@service(Right.RUN_CLASS)
def list_assignments(store: Store, person: Person, class_id: str) -> tuple[AssignmentRecord, ...]:
    """All that was given to a class, newest first. Raises NotFound, NotAllowed."""
    given = (
        select(AssignmentRow)
        .where(AssignmentRow.class_id == class_id)
        .order_by(AssignmentRow.given_at.desc(), AssignmentRow.id)
    )
    with store.reading() as session:
        instructed_class(session, person, class_id)
        return tuple(assignment_record(row) for row in session.scalars(given).all())


@service(Right.RUN_CLASS)
def progress_of(store: Store, person: Person, assignment_id: str, *, with_names: bool = False) -> Progress:
    """How far the class is. Raises NotFound, NotAllowed."""
    with store.reading() as session:
        row = instructed_work(session, person, assignment_id)
        return progress_in(session, row, assignment_record(row), with_names=with_names)


@service(Right.PRACTISE)
def for_me(store: Store, person: Person) -> tuple[MyAssignment, ...]:
    """All class work of this person as a student: open work first, by due date, then closed work."""
    mine = (
        select(AssignmentRow)
        .join(MemberRow, MemberRow.class_id == AssignmentRow.class_id)
        .join(ClassRow, ClassRow.id == AssignmentRow.class_id)
        .where(
            MemberRow.person_id == person.id,
            MemberRow.part == Part.STUDENT.value,
            MemberRow.left_at.is_(None),
            ClassRow.erased_at.is_(None),
        )
        .order_by(AssignmentRow.given_at, AssignmentRow.id)
    )
    with store.reading() as session:
        rows = session.scalars(mine).unique().all()
        found = [_my_assignment(store, session, row, person.id) for row in rows]
    return tuple(sorted(found, key=lambda one: (one.assignment.closed_at is not None, *_due(one.assignment))))


def _due(record: AssignmentRecord) -> tuple[bool, datetime]:
    return record.due_at is None, record.due_at or record.given_at


@service(Right.PRACTISE)
def my_assignment(store: Store, person: Person, assignment_id: str) -> MyAssignment:
    """One piece of class work as the person sees it who was given it; for whoever runs the class, as a student would.

    Raises
    ------
    NotFound, NotAllowed
    """
    with store.reading() as session:
        row = session.get(AssignmentRow, assignment_id)
        if row is None or row.group.erased_at is not None:
            raise NotFound("There is no such class work, or the time of its class is over.")
        if part_in(session, person, row.class_id) is None:
            raise NotAllowed("This work was given to a class to which you do not belong.")
        return _my_assignment(store, session, row, person.id)


def _my_assignment(store: Store, session: Session, row: AssignmentRow, person_id: str) -> MyAssignment:
    return my_assignment_of(store, session, row, assignment_record(row, for_student=True), person_id)


def assignment_record(row: AssignmentRow, *, for_student: bool = False) -> AssignmentRecord:
    """The row as the rest of the program sees it; a student's does not tell of a repeat."""
    return AssignmentRecord(
        id=row.id,
        class_id=row.class_id,
        version_id=row.version_id,
        title=row.title,
        given_at=row.given_at,
        due_at=row.due_at,
        order=Order(row.order_of_work),
        places_twice=row.places_twice,
        hidden_repeat=row.hidden_repeat and not for_student,
        key_rule=KeyRule(row.key_rule),
        key_opened_at=row.key_opened_at,
        closed_at=row.closed_at,
        n_slots=n_slots(row),
    )
