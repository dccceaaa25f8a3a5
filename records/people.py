"""Who acts. For now one local person: whoever sits at this computer."""

import secrets
from dataclasses import dataclass

from sqlalchemy import select

from records.models import PersonRow
from records.store import Store

LOCAL_HANDLE = "this computer"


@dataclass(frozen=True, kw_only=True)
class Person:
    """Someone who practises.

    Parameters
    ----------
    id : str
        Random, 32 hexadecimal digits.
    handle : str
        What tells people apart on this computer; never a real name.
    """

    id: str
    handle: str


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
            return Person(id=row.id, handle=row.handle)
    with store.writing() as session:
        # Another thread may have been here in between.
        row = session.scalar(local)
        if row is None:
            row = PersonRow(id=secrets.token_hex(16), handle=LOCAL_HANDLE, created_at=store.now())
            session.add(row)
        return Person(id=row.id, handle=row.handle)
