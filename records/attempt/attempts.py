"""Attempts at a photo while they are under way: started, saved at every step, resumed after a restart."""

import secrets
from collections.abc import Mapping
from typing import TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import check_still_open, covered_photo, own_attempt, photo_to_practise_on
from records.attempt.attempt_values import AttemptRecord, Order, Round, SavedPoints, SavedSheet, Step, record_of
from records.consent.consents import Scope
from records.errors import AlreadyHandedIn, InvalidRecord, NotAllowed, NotFound, StaleWrite
from records.identity.people import Person
from records.models import AttemptRow, PhotoRow, PointsRow, SheetRow
from records.rights import Right, service
from records.storage.stored_json import Json, stored_landmarks, stored_sheet
from records.store import Store
from rubric.answers import AnswerSheet
from vision.landmarks import LandmarkSet

__all__ = [
    "AttemptRecord",
    "Order",
    "Round",
    "SavedPoints",
    "SavedSheet",
    "Step",
    "open_attempts",
    "resume",
    "save_points",
    "save_sheet",
    "save_step",
    "start_attempt",
]


_Saved = TypeVar("_Saved", SheetRow, PointsRow)


@service(Right.PRACTISE)
def start_attempt(store: Store, person: Person, photo_id: str, order: Order = Order.SCORE_FIRST) -> AttemptRecord:
    """Begin a new attempt outside of class work. Raises NotFound, NotAllowed, ConsentRefused."""
    with store.writing() as session:
        row = begun(store, person.id, photo_to_practise_on(store, session, person, photo_id), order)
        session.add(row)
        session.flush()
        return record_of(row)


def begun(store: Store, who: str, photo: PhotoRow, order: Order) -> AttemptRow:
    """A row for an attempt that begins now."""
    return AttemptRow(
        id=secrets.token_hex(16),
        person_id=who,
        photo=photo,
        order_of_work=order.value,
        step=(Step.SCORE if order == Order.SCORE_FIRST else Step.MEASURE).value,
        started_at=store.now(),
    )


@service(Right.PRACTISE)
def resume(store: Store, person: Person, attempt_id: str) -> AttemptRecord:
    """An open attempt as it was last saved. Raises NotFound, NotAllowed, AlreadyHandedIn."""
    with store.reading() as session:
        return record_of(open_row(session, person, attempt_id))


@service(Right.PRACTISE)
def open_attempts(store: Store, person: Person) -> tuple[AttemptRecord, ...]:
    """All that is not handed in and can go on, latest start first; class work that is closed or was left stays out."""
    still_open = (
        select(AttemptRow)
        .where(AttemptRow.person_id == person.id, AttemptRow.handed_in_at.is_(None))
        .order_by(AttemptRow.started_at.desc(), AttemptRow.id)
    )
    with store.reading() as session:
        return tuple(record_of(row) for row in session.scalars(still_open).all() if _goes_on(session, person, row))


def _goes_on(session: Session, person: Person, row: AttemptRow) -> bool:
    try:
        check_still_open(session, person, row)
    except (NotAllowed, NotFound):
        return False
    return True


@service(Right.PRACTISE)
def save_step(store: Store, person: Person, attempt_id: str, step: Step) -> None:
    """Remember where the person stands. Raises NotFound, NotAllowed, AlreadyHandedIn."""
    with store.writing() as session:
        row_to_change(session, person, attempt_id).step = step.value


@service(Right.PRACTISE)
def save_sheet(
    store: Store, person: Person, attempt_id: str, round: Round, sheet: AnswerSheet, expected_revision: int
) -> int:
    """Save the answers of one round.

    Parameters
    ----------
    store : Store
    person : Person
    attempt_id : str
    round : 1 or 2
    sheet : AnswerSheet
    expected_revision : int
        The revision that the person was looking at; 0 where nothing was saved yet.

    Returns
    -------
    int
        The new revision.

    Raises
    ------
    StaleWrite
        Where another revision is on record; nothing is changed.
    AlreadyHandedIn, ConsentRefused, NotFound, NotAllowed, InvalidRecord
    """
    return _save(store, person, attempt_id, round, SheetRow, {"answers": stored_sheet(sheet)}, expected_revision)


@service(Right.PRACTISE)
def save_points(
    store: Store, person: Person, attempt_id: str, round: Round, landmarks: LandmarkSet, expected_revision: int
) -> int:
    """Save the landmarks of one round, in pixels of the full photo; as `save_sheet` in all else."""
    return _save(
        store, person, attempt_id, round, PointsRow, {"landmarks": stored_landmarks(landmarks)}, expected_revision
    )


def _save(
    store: Store,
    person: Person,
    attempt_id: str,
    round: Round,
    kind: type[_Saved],
    content: Mapping[str, Json],
    expected_revision: int,
) -> int:
    if round not in (1, 2):
        raise InvalidRecord(f"There are rounds 1 and 2, got {round}.")
    with store.writing() as session:
        attempt = row_to_change(session, person, attempt_id)
        covered_photo(store, session, person, attempt.photo_id, Scope.OWN_PRACTICE)
        row = session.get(kind, (attempt_id, round))
        if expected_revision != (0 if row is None else row.revision):
            raise StaleWrite(
                "This practice was changed in another window in the meantime, so nothing was overwritten; "
                "reload the page to go on from there."
            )
        if row is None:
            row = kind(attempt_id=attempt_id, round=round)
            session.add(row)
        for column, value in content.items():
            setattr(row, column, value)
        row.revision, row.saved_at = expected_revision + 1, store.now()
    return expected_revision + 1


def open_row(session: Session, person: Person, attempt_id: str, *, to_change: bool = False) -> AttemptRow:
    """The row of an attempt that is not handed in. Raises NotFound, NotAllowed, AlreadyHandedIn."""
    row = own_attempt(session, person, attempt_id, to_change=to_change)
    if row.handed_in_at is not None:
        raise AlreadyHandedIn("This practice was handed in and no longer changes; start a new one to try again.")
    return row


def row_to_change(session: Session, person: Person, attempt_id: str) -> AttemptRow:
    """As `open_row`, locked; in class work only while that is open. Raises NotFound, NotAllowed, AlreadyHandedIn."""
    row = open_row(session, person, attempt_id, to_change=True)
    check_still_open(session, person, row)
    return row
