"""Who acts, in which roles. Whoever works alone on this computer is one local person who holds all of them."""

import secrets
from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.models import PersonRow, RoleRow
from records.store import Store

LOCAL_HANDLE = "this computer"


class Role(StrEnum):
    """What someone does at a school; one person may hold several."""

    EDUCATOR = "educator"
    INSTRUCTOR = "instructor"
    STUDENT = "student"


@dataclass(frozen=True, kw_only=True)
class Person:
    """Someone who acts.

    Parameters
    ----------
    id : str
        Random, 32 hexadecimal digits.
    handle : str
        What tells people apart here; never a real name.
    roles : frozenset of Role
        As they were when this was read, for what a screen offers; services read them afresh.
    """

    id: str
    handle: str
    roles: frozenset[Role] = frozenset()


def local_person(store: Store) -> Person:
    """The person at this computer, created at first use.

    Parameters
    ----------
    store : Store

    Returns
    -------
    Person
        The same one at every call on one data folder.
    """
    local = select(PersonRow).where(PersonRow.handle == LOCAL_HANDLE)
    with store.reading() as session:
        row = session.scalar(local)
        if row is not None:
            return person_of(session, row)
    with store.writing() as session:
        # Another thread may have been here in between.
        row = session.scalar(local)
        return person_of(session, row) if row else add_person(store, session, LOCAL_HANDLE, frozenset(Role))


def add_person(
    store: Store, session: Session, handle: str, roles: frozenset[Role], given_by: str | None = None
) -> Person:
    """A new person with these roles."""
    row = PersonRow(id=secrets.token_hex(16), handle=handle, created_at=store.now())
    session.add(row)
    session.flush()
    for role in sorted(roles):
        session.add(RoleRow(person_id=row.id, role=role.value, given_by=given_by, given_at=store.now()))
    session.flush()
    return Person(id=row.id, handle=handle, roles=roles)


def holds(session: Session, person_id: str, role: Role) -> bool:
    """Whether someone holds a role now, by the database."""
    return session.get(RoleRow, (person_id, role.value)) is not None


def person_of(session: Session, row: PersonRow) -> Person:
    """The row as the rest of the program sees it."""
    held = session.scalars(select(RoleRow.role).where(RoleRow.person_id == row.id))
    return Person(id=row.id, handle=row.handle, roles=frozenset(Role(role) for role in held))
