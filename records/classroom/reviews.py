"""What an instructor says to work that was handed in: looked at, comments on a sign or a point, another try, done."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import attempt_to_review
from records.attempt.handing_in import HandedIn, handed_in_record
from records.auditing.audit import append
from records.classroom.assignment_progress import is_late
from records.classroom.classes import labels_in
from records.classroom.comments import Comment, add_comment, comments_on, remove_comment
from records.errors import InvalidRecord, NotFound, StaleWrite
from records.identity.people import Person
from records.key.keys import KeyRecord, key_of
from records.models import AssignmentRow, AttemptRow, PersonRow, ReviewRow
from records.rights import Right, service
from records.store import Store

__all__ = [
    "Comment",
    "ReviewRecord",
    "ReviewState",
    "WorkToReview",
    "add_comment",
    "comments_on",
    "hand_back",
    "remove_comment",
    "set_state",
    "work_to_review",
]


class ReviewState(StrEnum):
    """How far the review of one try is."""

    LOOKED_AT = "looked_at"
    HANDED_BACK = "handed_back"
    DONE = "done"


@dataclass(frozen=True, kw_only=True)
class ReviewRecord:
    """The review of one try; `state` is None and `revision` 0 while nobody looked."""

    attempt_id: str
    state: ReviewState | None
    revision: int
    changed_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class WorkToReview:
    """One try as whoever runs the class reads it.

    Parameters
    ----------
    work : HandedIn
    key : KeyRecord or None
        None where the set has none.
    review : ReviewRecord
    class_id : str
    label : str
        "Student 3"; `handle` is None unless the name was asked for.
    late : bool
    tries : mapping of try number to attempt id
        What this student handed in at this place.
    """

    work: HandedIn
    key: KeyRecord | None
    review: ReviewRecord
    class_id: str
    label: str
    handle: str | None
    late: bool
    tries: Mapping[int, str]


@service(Right.REVIEW)
def work_to_review(store: Store, person: Person, attempt_id: str, *, with_names: bool = False) -> WorkToReview:
    """A student's try with the frozen key; the student by label, named only where asked for. Raises NotFound, NotAllowed."""
    with store.reading() as session:
        attempt = attempt_to_review(session, person, attempt_id)
        try:
            key = key_of(session, attempt)
        except NotFound:
            key = None
        given = session.get_one(AssignmentRow, attempt.assignment_id)
        return WorkToReview(
            work=handed_in_record(attempt),
            key=key,
            review=_record_of(session, attempt_id),
            class_id=given.class_id,
            label=labels_in(session, given.class_id).get(attempt.person_id, "A student who was erased"),
            handle=session.get_one(PersonRow, attempt.person_id).handle if with_names else None,
            late=is_late(given, attempt),
            tries=MappingProxyType(_tries_like(session, attempt)),
        )


def _tries_like(session: Session, attempt: AttemptRow) -> dict[int, str]:
    handed_in = (
        select(AttemptRow.try_number, AttemptRow.id)
        .where(
            AttemptRow.assignment_id == attempt.assignment_id,
            AttemptRow.person_id == attempt.person_id,
            AttemptRow.slot == attempt.slot,
            AttemptRow.handed_in_at.is_not(None),
        )
        .order_by(AttemptRow.try_number)
    )
    return {row.try_number: row.id for row in session.execute(handed_in)}


@service(Right.REVIEW)
def set_state(
    store: Store, person: Person, attempt_id: str, state: ReviewState, *, expected_revision: int
) -> ReviewRecord:
    """Mark a try as looked at or done; `hand_back` gives it back.

    Raises
    ------
    NotFound, NotAllowed
    StaleWrite
        Where another revision is on record.
    InvalidRecord
        For HANDED_BACK.
    """
    if state == ReviewState.HANDED_BACK:
        raise InvalidRecord("Work is handed back by its own button, so that the student gets another try.")
    with store.writing() as session:
        attempt_to_review(session, person, attempt_id)
        return _set(store, session, person, attempt_id, state, expected_revision)


@service(Right.REVIEW)
def hand_back(store: Store, person: Person, attempt_id: str, *, expected_revision: int) -> ReviewRecord:
    """Give a try back: the student may begin another one, and this one is kept.

    Raises
    ------
    NotFound, NotAllowed, StaleWrite
    InvalidRecord
        For a try that is not the last one, and for work that is closed or whose photo is gone.
    """
    with store.writing() as session:
        attempt = attempt_to_review(session, person, attempt_id)
        work = session.get_one(AssignmentRow, attempt.assignment_id)
        if work.closed_at is not None:
            raise InvalidRecord("The work is closed; open it again before you hand something back.")
        if attempt.photo.removed_at is not None:
            raise InvalidRecord("The photo is no longer here, so there is nothing to try again.")
        if _has_later_try(session, attempt):
            raise InvalidRecord("The student has begun another try already.")
        append(store, session, actor_id=person.id, action="hand_back", object_id=attempt_id)
        return _set(store, session, person, attempt_id, ReviewState.HANDED_BACK, expected_revision)


def _has_later_try(session: Session, attempt: AttemptRow) -> bool:
    later = select(AttemptRow.id).where(
        AttemptRow.assignment_id == attempt.assignment_id,
        AttemptRow.person_id == attempt.person_id,
        AttemptRow.slot == attempt.slot,
        AttemptRow.try_number > attempt.try_number,
    )
    return session.scalar(later.limit(1)) is not None


def _set(
    store: Store, session: Session, person: Person, attempt_id: str, state: ReviewState, expected: int
) -> ReviewRecord:
    row = session.get(ReviewRow, attempt_id, with_for_update=True)
    found = 0 if row is None else row.revision
    if found != expected:
        raise StaleWrite(
            "Someone else went on with this review in the meantime, so nothing was changed; "
            "reload the page to see how far it is."
        )
    if row is None:
        row = ReviewRow(attempt_id=attempt_id)
        session.add(row)
    row.state, row.reviewed_by, row.revision, row.changed_at = state.value, person.id, expected + 1, store.now()
    session.flush()
    return _record_of(session, attempt_id)


def _record_of(session: Session, attempt_id: str) -> ReviewRecord:
    row = session.get(ReviewRow, attempt_id)
    return ReviewRecord(
        attempt_id=attempt_id,
        state=None if row is None else ReviewState(row.state),
        revision=0 if row is None else row.revision,
        changed_at=None if row is None else row.changed_at,
    )
