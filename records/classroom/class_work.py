"""A student's way through an assignment, place by place, and what the class made of it.

Whoever does not want to look at a photo, or at all of them, leaves it out: no reason is asked, none is kept, and it can
be taken back. Leaving out is counted for the class and never shown with a person.
"""

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from records.access import covered_photo, instructed_work, work_of_student
from records.attempt.attempt_values import AttemptRecord, Order, record_of
from records.attempt.attempts import begun
from records.auditing.audit import append
from records.classroom.assignment_progress import HANDED_BACK, all_finished
from records.classroom.assignments import assignment_record
from records.classroom.class_answer_values import ClassAnswers
from records.classroom.class_answers import answers_in
from records.classroom.slots import n_slots, photos_of, places_of
from records.consent.consents import Scope
from records.errors import AlreadyHandedIn, InvalidRecord, NotAllowed, NotFound
from records.identity.people import Person
from records.models import AssignmentRow, AttemptRow, OptOutRow, ReviewRow
from records.rights import Right, service
from records.store import Store

#: The slot that stands for the whole assignment where something is left out.
ALL = 0


@service(Right.PRACTISE)
def start_slot(store: Store, person: Person, assignment_id: str, slot: int) -> AttemptRecord:
    """Begin at one place of an assignment, or go on with what was begun there: there is one open try a place.

    Raises
    ------
    NotFound
        Also for a photo that was removed.
    NotAllowed
        For someone who is no student of the class, and once the work is closed.
    AlreadyHandedIn
        Unless the last try was handed back for another.
    InvalidRecord
        For a place that does not exist, or one that was left out.
    ConsentRefused
    """
    with store.writing() as session:
        work = work_of_student(session, person, assignment_id)
        _check_open(work)
        _check_slot(work, slot)
        if _is_left_out(session, work.id, person.id, slot):
            raise InvalidRecord("You have left this photo out; take it back in first.")
        place = photos_of(work)[slot - 1]
        if place.removed_at is not None or place.photo.removed_at is not None:
            raise NotFound("This photo is no longer here; its place stays empty.")
        photo = covered_photo(store, session, person, place.photo_id, Scope.OWN_PRACTICE)
        last = _last_try(session, work.id, person.id, slot)
        if last is not None and last.handed_in_at is None:
            return record_of(last)
        if last is not None and not _was_handed_back(session, last.id):
            raise AlreadyHandedIn("You have handed this photo in already.")
        row = begun(store, person.id, photo, Order(work.order_of_work))
        row.assignment_id, row.slot = work.id, slot
        row.try_number = 1 if last is None else last.try_number + 1
        return record_of(_added(session, row))


def _check_open(work: AssignmentRow) -> None:
    if work.closed_at is not None:
        raise NotAllowed("This class work is closed; your instructor can open it again.")


def _check_slot(work: AssignmentRow, slot: int, *, least: int = 1) -> None:
    if not least <= slot <= n_slots(work):
        raise InvalidRecord(f"This class work has the photos 1 to {n_slots(work)}, got {slot}.")


def _last_try(session: Session, assignment_id: str, person_id: str, slot: int) -> AttemptRow | None:
    found = (
        select(AttemptRow)
        .where(AttemptRow.assignment_id == assignment_id, AttemptRow.person_id == person_id, AttemptRow.slot == slot)
        .order_by(AttemptRow.try_number.desc())
        .limit(1)
    )
    return session.scalar(found)


def _was_handed_back(session: Session, attempt_id: str) -> bool:
    review = session.get(ReviewRow, attempt_id)
    return review is not None and review.state == HANDED_BACK


def _added(session: Session, row: AttemptRow) -> AttemptRow:
    """The new row, or the one that another tab added a moment before."""
    at = row.assignment_id or "", row.person_id, row.slot or 0
    try:
        with session.begin_nested():
            session.add(row)
            session.flush()
    except IntegrityError:
        there = _last_try(session, *at)
        if there is None or there.handed_in_at is not None:
            raise
        return there
    return row


@service(Right.PRACTISE)
def leave_out(store: Store, person: Person, assignment_id: str, slot: int = ALL) -> None:
    """Leave out one photo, or with slot 0 all that is not handed in yet; no reason is asked. Once more changes nothing.

    Raises
    ------
    NotFound, NotAllowed
    AlreadyHandedIn
        For a photo that was handed in.
    InvalidRecord
        For a place that does not exist.
    """
    with store.writing() as session:
        work = work_of_student(session, person, assignment_id)
        _check_open(work)
        _check_slot(work, slot, least=ALL)
        last = _last_try(session, work.id, person.id, slot) if slot else None
        if last is not None and last.handed_in_at is not None and not _was_handed_back(session, last.id):
            raise AlreadyHandedIn("You have handed this photo in already.")
        if session.get(OptOutRow, (work.id, person.id, slot)) is None:
            session.add(OptOutRow(assignment_id=work.id, person_id=person.id, slot=slot, at=store.now()))


@service(Right.PRACTISE)
def take_in_again(store: Store, person: Person, assignment_id: str, slot: int = ALL) -> None:
    """Undo `leave_out`; what was begun at that place is still there.

    Raises
    ------
    NotFound, NotAllowed
    InvalidRecord
        For a place that does not exist, and for a photo whose key was shown at its other place in the meantime.
    """
    with store.writing() as session:
        work = work_of_student(session, person, assignment_id)
        _check_open(work)
        _check_slot(work, slot, least=ALL)
        row = session.get(OptOutRow, (work.id, person.id, slot))
        if row is None:
            return
        if _knows_the_key(session, work, person.id, slot):
            raise InvalidRecord("This photo came once before, and you have been shown its key, so it stays left out.")
        session.delete(row)


def _knows_the_key(session: Session, work: AssignmentRow, person_id: str, slot: int) -> bool:
    """Whether the other showing of the repeated photo was handed in and all was through, so that its key was open."""
    pair = places_of(work).repeat
    if pair is None or slot not in (ALL, *pair):
        return False
    done = [_last_try(session, work.id, person_id, one) for one in pair]
    one_only = sum(last is not None and last.handed_in_at is not None for last in done) == 1
    return one_only and all_finished(session, work, person_id)


def _is_left_out(session: Session, assignment_id: str, person_id: str, slot: int) -> bool:
    return any(session.get(OptOutRow, (assignment_id, person_id, one)) is not None for one in (ALL, slot))


@service(Right.REVIEW)
def answers_of(store: Store, person: Person, assignment_id: str, *, with_names: bool = False) -> ClassAnswers:
    """Everything that a class handed in, with the frozen keys; students by label, named only where asked for.

    Raises
    ------
    NotFound, NotAllowed
        For whoever does not run this class.
    """
    with store.reading() as session:
        row = instructed_work(session, person, assignment_id)
        return answers_in(session, row, assignment_record(row), with_names=with_names)


@service(Right.REVIEW)
def answers_to_report(store: Store, person: Person, assignment_id: str) -> ClassAnswers:
    """The same with students' names, for a report that leaves the program: that it was made is logged, by ids.

    Raises
    ------
    NotFound, NotAllowed
        For whoever does not run this class.
    """
    with store.writing() as session:
        row = instructed_work(session, person, assignment_id)
        append(store, session, actor_id=person.id, action="report_with_names", object_id=row.id)
        return answers_in(session, row, assignment_record(row), with_names=True)


@service(Right.REVIEW)
def photo_at(store: Store, person: Person, assignment_id: str, slot: int) -> str:
    """The id of the photo at one place, for whoever runs the class and looks at the work as a student would.

    Raises
    ------
    NotFound, NotAllowed, InvalidRecord, ConsentRefused
    """
    with store.reading() as session:
        work = instructed_work(session, person, assignment_id)
        _check_slot(work, slot)
        return covered_photo(store, session, person, photos_of(work)[slot - 1].photo_id, Scope.OWN_PRACTICE).id
