"""Comments of an instructor on work that was handed in, pinned to a sign or to a point."""

import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import attempt_to_review, own_attempt
from records.errors import InvalidRecord, NotAllowed, NotFound
from records.identity.people import Person
from records.models import AttemptRow, CommentRow, PersonRow
from records.rights import Right, service
from records.store import Store
from vision.landmarks import LANDMARK_IDS

MOST_CHARACTERS = 2000


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
