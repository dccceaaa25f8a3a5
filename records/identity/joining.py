"""Joining a class by a code that is read out or written on the board.

Eight letters and digits that are not taken for each other (about 40 bits); only a hash is kept, it ends after some
days or when an instructor ends it, and wrong codes are counted.
"""

import hashlib
import secrets
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.auditing.audit import Outcome, append
from records.classroom.membership import STUDENT, add_member, come_back_as_student
from records.errors import InvalidRecord, NotAllowed, NotFound, SignInRefused
from records.identity import limits, passwords
from records.identity.account_rows import accounts_exist, add_account, free_person
from records.identity.handles import new_handle
from records.identity.people import Person, Role
from records.identity.sessions import SignedIn, begin_session
from records.models import ClassRow, JoinCodeRow, MemberRow
from records.rights import Right, service
from records.store import Store

LENGTH = 8
MOST_DAYS = 60
_NO_SUCH_CODE = "This code opens no class here; it may be mistyped, or its time may be over."


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


@dataclass(frozen=True, kw_only=True)
class Joined:
    """The class that was joined."""

    class_id: str
    title: str


def shown(code: str) -> str:
    """A code as people read it.

    Examples
    --------
    >>> shown("abcdefgh")
    'abcd-efgh'
    """
    return f"{code[:4]}-{code[4:]}"


def _sha256(code: str) -> str:
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
        _own_class(session, person, class_id)
        now = store.now()
        row = JoinCodeRow(
            id=secrets.token_hex(16),
            class_id=class_id,
            code_sha256=_sha256(code),
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
        _own_class(session, person, class_id)
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
        _own_class(session, person, row.class_id)
        row.ended_at = row.ended_at or store.now()
        append(store, session, actor_id=person.id, action="end_join_code", object_id=row.class_id)


def _own_class(session: Session, person: Person, class_id: str) -> None:
    found = session.get(ClassRow, class_id)
    if found is None or found.erased_at is not None:
        raise NotFound("There is no such class.")
    member = session.get(MemberRow, (class_id, person.id))
    if member is None or member.left_at is not None or member.part != "instructor":
        raise NotAllowed("Only an instructor of this class can do this.")


@service(Right.JOIN_CLASS)
def join_class(store: Store, person: Person, code: str) -> Joined:
    """Join the class that the code opens; whoever is in it already stays as they are.

    Raises
    ------
    SignInRefused
        There is no such code, or its time is over.
    TooManyTries
    """
    limit = limits.by_person(person.id, "join")
    limits.begin_try(store, limit)
    with store.writing() as session:
        joined = enter_class(store, session, person.id, code)
    if joined is None:
        raise SignInRefused(_NO_SUCH_CODE)
    limits.was_right(store, cleared=(limit,))
    return joined


def join_with_new_account(store: Store, *, code: str, handle: str, password: str, from_where: str) -> SignedIn:
    """Make an account for a student who holds a code, and join the class.

    Parameters
    ----------
    from_where : str
        As in `records.identity.accounts.sign_in`.

    Raises
    ------
    InvalidRecord
        The handle or the password cannot be taken; nothing was done.
    SignInRefused, TooManyTries
    """
    check_code(store, code, from_where)
    kept = new_handle(handle)
    passwords.check_new(password, kept)
    password_hash = passwords.hashed(password)
    with store.writing() as session:
        made = free_person(store, session, kept, frozenset({Role.STUDENT}))
        add_account(store, session, made.id, password_hash, must_change=False)
        return enter_as_new(store, session, made, code)


def enter_as_new(store: Store, session: Session, made: Person, code: str) -> SignedIn:
    """Let someone who was just made into the class and begin a session. Raises SignInRefused."""
    if enter_class(store, session, made.id, code) is None:
        raise SignInRefused(_NO_SUCH_CODE)
    append(store, session, actor_id=made.id, action="join_with_new_account", object_id=made.id)
    return SignedIn(token=begin_session(store, session, made.id), person=made)


def check_code(store: Store, code: str, from_where: str) -> None:
    """Return only where the code opens a class and people have accounts here.

    It is asked before anything else: whoever has no code does not learn which names are taken.

    Raises
    ------
    SignInRefused, TooManyTries
    """
    by_address = limits.by_address(from_where)
    limits.begin_try(store, by_address, limits.by_newcomers(from_where))
    with store.writing() as session:
        opens = accounts_exist(session) and _class_of(store, session, code) is not None
        if not opens:
            append(store, session, actor_id=None, action="join_class", outcome=Outcome.REFUSED)
    if not opens:
        raise SignInRefused(_NO_SUCH_CODE)
    limits.was_right(store, lowered=(by_address,))


def _class_of(store: Store, session: Session, code: str) -> ClassRow | None:
    now = store.now()
    return session.scalar(
        select(ClassRow)
        .join(JoinCodeRow, JoinCodeRow.class_id == ClassRow.id)
        .where(
            JoinCodeRow.code_sha256 == _sha256(code),
            JoinCodeRow.ended_at.is_(None),
            JoinCodeRow.ends_at > now,
            ClassRow.erased_at.is_(None),
            ClassRow.keep_until >= store.today(),
        )
    )


def enter_class(store: Store, session: Session, person_id: str, code: str) -> Joined | None:
    """Make someone a student of the class that the code opens, in a transaction under way; None for no such code."""
    found = _class_of(store, session, code)
    if found is None:
        append(store, session, actor_id=person_id, action="join_class", outcome=Outcome.REFUSED)
        return None
    member = session.get(MemberRow, (found.id, person_id), with_for_update=True)
    if member is None:
        add_member(session, found.id, person_id, STUDENT, at=store.now())
    elif member.left_at is not None:
        come_back_as_student(session, member, at=store.now())
    append(store, session, actor_id=person_id, action="join_class", object_id=found.id)
    return Joined(class_id=found.id, title=found.title)
