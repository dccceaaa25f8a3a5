"""Erasing a person's own work, or the work of a class. Works within a transaction; files are named, not deleted."""

import secrets
from datetime import datetime

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

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
    """Take out all work done in a class, who was in it, and its codes; what was given stays as a heading."""
    given = select(AssignmentRow.id).where(AssignmentRow.class_id == group.id)
    for attempt in session.scalars(select(AttemptRow).where(AttemptRow.assignment_id.in_(given))):
        session.delete(attempt)
    session.flush()
    session.execute(delete(OptOutRow).where(OptOutRow.assignment_id.in_(given)))
    session.execute(delete(MemberRow).where(MemberRow.class_id == group.id))
    session.execute(delete(JoinCodeRow).where(JoinCodeRow.class_id == group.id))
    group.erased_at = now
    session.flush()
