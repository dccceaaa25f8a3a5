"""The code that opens a class, read out or written on the board.

Eight letters and digits that are not taken for each other (about 40 bits); only a hash is kept, and it ends after some
days or when an instructor ends it.
"""

import hashlib
import secrets
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import instructed_class
from records.auditing.audit import append
from records.errors import InvalidRecord, NotFound
from records.identity import passwords
from records.identity.people import Person
from records.models import ClassRow, JoinCodeRow
from records.rights import Right, service
from records.store import Store

LENGTH = 8
MOST_DAYS = 60


@dataclass(frozen=True, kw_only=True)
class JoinCode:
    """A code just made: the only time that it is readable."""

    id: str
    code: str = field(repr=False)
    ends_at: datetime


@dataclass(frozen=True, kw_only=True)
class OpenCode:
    """A code that still opens a class; which letters it has is not known here."""

    id: str
    made_at: datetime
    ends_at: datetime


def shown(code: str) -> str:
    """A code as people read it.

    Examples
    --------
    >>> shown("abcdefgh")
    'abcd-efgh'
    """
    return f"{code[:4]}-{code[4:]}"


def code_sha256(code: str) -> str:
    """What is kept of a code, however it was written."""
    plain = "".join(character for character in code.lower() if character.isalnum())
    return hashlib.sha256(f"join {plain}".encode("utf-8", "surrogatepass")).hexdigest()


@service(Right.RUN_CLASS)
def make_join_code(store: Store, person: Person, class_id: str, *, days: int = 14) -> JoinCode:
    """A new code for a class that the person runs; codes made before stay open until they end.

    Raises
    ------
    NotFound, NotAllowed
    InvalidRecord
        Where `days` is not 1 to 60.
    """
    if not 1 <= days <= MOST_DAYS:
        raise InvalidRecord(f"A code opens a class for 1 to {MOST_DAYS} days.")
    code = "".join(secrets.choice(passwords.UNAMBIGUOUS) for _ in range(LENGTH))
    with store.writing() as session:
        instructed_class(session, person, class_id)
        now = store.now()
        row = JoinCodeRow(
            id=secrets.token_hex(16),
            class_id=class_id,
            code_sha256=code_sha256(code),
            made_by=person.id,
            made_at=now,
            ends_at=now + timedelta(days=days),
            ended_at=None,
        )
        session.add(row)
        append(store, session, actor_id=person.id, action="make_join_code", object_id=class_id)
        return JoinCode(id=row.id, code=shown(code), ends_at=row.ends_at)


@service(Right.RUN_CLASS)
def open_codes(store: Store, person: Person, class_id: str) -> tuple[OpenCode, ...]:
    """The codes that open this class now, newest first. Raises NotFound, NotAllowed."""
    with store.reading() as session:
        instructed_class(session, person, class_id)
        rows = session.scalars(
            select(JoinCodeRow)
            .where(
                JoinCodeRow.class_id == class_id,
                JoinCodeRow.ended_at.is_(None),
                JoinCodeRow.ends_at > store.now(),
            )
            .order_by(JoinCodeRow.made_at.desc())
        )
        return tuple(OpenCode(id=row.id, made_at=row.made_at, ends_at=row.ends_at) for row in rows)


@service(Right.RUN_CLASS)
def end_join_code(store: Store, person: Person, code_id: str) -> None:
    """End a code of an own class at once. Raises NotFound, NotAllowed."""
    with store.writing() as session:
        row = session.get(JoinCodeRow, code_id)
        if row is None:
            raise NotFound("There is no such code.")
        instructed_class(session, person, row.class_id)
        row.ended_at = row.ended_at or store.now()
        append(store, session, actor_id=person.id, action="end_join_code", object_id=row.class_id)


def class_of_code(store: Store, session: Session, code: str) -> ClassRow | None:
    """The class that the code opens now, or None."""
    now = store.now()
    return session.scalar(
        select(ClassRow)
        .join(JoinCodeRow, JoinCodeRow.class_id == ClassRow.id)
        .where(
            JoinCodeRow.code_sha256 == code_sha256(code),
            JoinCodeRow.ended_at.is_(None),
            JoinCodeRow.ends_at > now,
            ClassRow.erased_at.is_(None),
            ClassRow.keep_until >= store.today(),
        )
    )
