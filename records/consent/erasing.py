"""Erasing a person's own work, or the work of a class. Works within a transaction; files are named, not deleted."""

import secrets
from datetime import datetime

from sqlalchemy import delete, exists, not_, or_, select
from sqlalchemy.orm import Session

from records.classroom.example_values import HANDLE
from records.consent.ending import Gone, end_use
from records.models import (
    AccountRow,
    AssignmentRow,
    AttemptRow,
    ClassRow,
    IdentityRow,
    JoinCodeRow,
    MemberRow,
    OptOutRow,
    OwnSigmaRow,
    PersonRow,
    PhotoRow,
    RoleRow,
    SessionRow,
)


def erase_person(session: Session, person: PersonRow, *, now: datetime, gone: Gone) -> None:
    """Take out someone's attempts, own photos, spread, memberships, roles and ways in; the row stays, unnamed.

    What they wrote for others stays without their name: comments, keys, sets, consents that they put on record.
    """
    for photo in session.scalars(select(PhotoRow).where(PhotoRow.owner_id == person.id)):
        end_use(session, photo, now=now, gone=gone)
    for attempt in session.scalars(select(AttemptRow).where(AttemptRow.person_id == person.id)):
        session.delete(attempt)
    session.flush()
    for table in (OwnSigmaRow, OptOutRow, MemberRow, RoleRow, AccountRow, IdentityRow, SessionRow):
        session.execute(delete(table).where(table.person_id == person.id))
    person.handle = f"erased {secrets.token_hex(8)}"
    person.erased_at = now
    session.flush()


def erase_class(session: Session, group: ClassRow, *, now: datetime) -> None:
    """Take out all work done in a class, who was in it, its codes and its invented students; the given stays as a heading."""
    given = select(AssignmentRow.id).where(AssignmentRow.class_id == group.id)
    for attempt in session.scalars(select(AttemptRow).where(AttemptRow.assignment_id.in_(given))):
        session.delete(attempt)
    session.flush()
    session.execute(delete(OptOutRow).where(OptOutRow.assignment_id.in_(given)))
    session.execute(delete(MemberRow).where(MemberRow.class_id == group.id))
    session.execute(delete(JoinCodeRow).where(JoinCodeRow.class_id == group.id))
    _erase_invented(session)
    group.erased_at = now
    session.flush()


def _erase_invented(session: Session) -> None:
    """Delete the students of examples who are in no class any more: the name says it, and they never had a way in."""
    tied = (
        exists().where(table.person_id == PersonRow.id) for table in (AccountRow, IdentityRow, MemberRow, AttemptRow)
    )
    invented = select(PersonRow.id).where(PersonRow.handle.like(f"{HANDLE} %"), not_(or_(*tied)))
    ids = session.scalars(invented).all()
    session.execute(delete(RoleRow).where(RoleRow.person_id.in_(ids)))
    session.execute(delete(PersonRow).where(PersonRow.id.in_(ids)))
