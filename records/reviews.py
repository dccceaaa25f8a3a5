"""What an instructor says to work that was handed in: looked at, comments on a sign or a point, another try, done."""

import secrets
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import attempt_to_review, own_attempt
from records.audit import append
from records.errors import InvalidRecord, NotAllowed, NotFound, StaleWrite
from records.handing_in import HandedIn, handed_in_record
from records.keys import KeyRecord, key_of
from records.models import AssignmentRow, AttemptRow, CommentRow, PersonRow, ReviewRow
from records.people import Person
from records.rights import Right, service
from records.store import Store
from vision.landmarks import LANDMARK_IDS

MOST_CHARACTERS = 2000


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
class Comment:
    """A comment on a try as a whole, on one of its items or on one of its points.

    `by` is the instructor's name here; `mine` says whether the asking person wrote it. `written_at` in UTC.
    """

    id: str
    attempt_id: str
    by: str
    mine: bool
    item_id: str | None
    landmark_id: str | None
    text: str
    written_at: datetime


@dataclass(frozen=True, kw_only=True)
class WorkToReview:
    """One try as whoever runs the class reads it; `key` is None where the set has none."""

    work: HandedIn
    key: KeyRecord | None
    review: ReviewRecord


@service(Right.REVIEW)
def work_to_review(store: Store, person: Person, attempt_id: str) -> WorkToReview:
    """A student's try with the frozen key; who the student is stands elsewhere. Raises NotFound, NotAllowed."""
    with store.reading() as session:
        attempt = attempt_to_review(session, person, attempt_id)
        try:
            key = key_of(session, attempt)
        except NotFound:
            key = None
        return WorkToReview(work=handed_in_record(attempt), key=key, review=_record_of(session, attempt_id))


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


@service(Right.REVIEW)
def add_comment(
    store: Store,
    person: Person,
    attempt_id: str,
    text: str,
    *,
    item_id: str | None = None,
    landmark_id: str | None = None,
) -> Comment:
    """Write a comment, pinned to an item or to a point, or to neither. The student sees it at once.

    Raises
    ------
    NotFound, NotAllowed
    InvalidRecord
        For an empty or overlong text, an unknown point, or both an item and a point.
    """
    said = text.strip()
    if not said or len(said) > MOST_CHARACTERS or not all(c.isprintable() or c == "\n" for c in said):
        raise InvalidRecord(f"A comment has 1 to {MOST_CHARACTERS} plain characters, got {len(said)}.")
    if item_id is not None and landmark_id is not None:
        raise InvalidRecord("A comment is pinned to a sign or to a point, not to both.")
    if landmark_id is not None and landmark_id not in LANDMARK_IDS:
        raise InvalidRecord("There is no such point to pin a comment to.")
    if item_id is not None and not (item_id.isidentifier() and len(item_id) <= 40):
        raise InvalidRecord("There is no such sign to pin a comment to.")
    with store.writing() as session:
        attempt_to_review(session, person, attempt_id)
        row = CommentRow(
            id=secrets.token_hex(16),
            attempt_id=attempt_id,
            written_by=person.id,
            item_id=item_id,
            landmark_id=landmark_id,
            text=said,
            written_at=store.now(),
        )
        session.add(row)
        session.flush()
        return _comment(session, row, person)


@service(Right.REVIEW)
def remove_comment(store: Store, person: Person, comment_id: str) -> None:
    """Take one's own comment back. Raises NotFound, NotAllowed."""
    with store.writing() as session:
        row = session.get(CommentRow, comment_id)
        if row is None:
            raise NotFound("There is no such comment.")
        if row.written_by != person.id:
            raise NotAllowed("This comment was written by someone else.")
        session.delete(row)


@service(Right.PRACTISE)
def comments_on(store: Store, person: Person, attempt_id: str) -> tuple[Comment, ...]:
    """The comments on an attempt, oldest first: for whoever made it, and for whoever runs its class.

    Raises
    ------
    NotFound, NotAllowed
    """
    written = (
        select(CommentRow).where(CommentRow.attempt_id == attempt_id).order_by(CommentRow.written_at, CommentRow.id)
    )
    with store.reading() as session:
        attempt = session.get(AttemptRow, attempt_id)
        if attempt is not None and attempt.person_id != person.id:
            attempt_to_review(session, person, attempt_id)
        else:
            own_attempt(session, person, attempt_id)
        return tuple(_comment(session, row, person) for row in session.scalars(written))


def _comment(session: Session, row: CommentRow, person: Person) -> Comment:
    return Comment(
        id=row.id,
        attempt_id=row.attempt_id,
        by=session.get_one(PersonRow, row.written_by).handle,
        mine=row.written_by == person.id,
        item_id=row.item_id,
        landmark_id=row.landmark_id,
        text=row.text,
        written_at=row.written_at,
    )


def _record_of(session: Session, attempt_id: str) -> ReviewRecord:
    row = session.get(ReviewRow, attempt_id)
    return ReviewRecord(
        attempt_id=attempt_id,
        state=None if row is None else ReviewState(row.state),
        revision=0 if row is None else row.revision,
        changed_at=None if row is None else row.changed_at,
    )
