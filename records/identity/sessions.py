"""Sessions: a browser that is signed in. The browser holds a random token; here only its SHA-256 is kept.

A session ends when it was not used for some hours, after some days in any case, and at once when its person signs
out, changes the password, or loses the account.
"""

import hashlib
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from records.errors import NotAllowed, StorageFault
from records.identity.people import LOCAL_HANDLE, Person, local_person, person_of
from records.models import AccountRow, PersonRow, SessionRow
from records.rights import Right, service
from records.settings import SHORTEST_IDLE, settings_in
from records.store import Store

#: Use is written down at most this often, so that reading a page does not become writing.
SEEN_EVERY = timedelta(minutes=2)
#: How long the row of an ended session stays, for "last seen".
KEPT_AFTER_END = timedelta(days=30)


@dataclass(frozen=True, kw_only=True)
class SignedIn:
    """A session that just began. `must_change`: only the change of the password is open until that is done."""

    token: str
    person: Person
    must_change: bool = False

    def __repr__(self) -> str:
        """Without the token, which must not end up in a log."""
        return f"SignedIn(person={self.person!r}, must_change={self.must_change})"


@dataclass(frozen=True, kw_only=True)
class Holder:
    """Whose session a token names."""

    person: Person
    must_change: bool


def begin_session(store: Store, session: Session, person_id: str) -> str:
    """A new session of this person within a transaction under way; returns its token."""
    token = secrets.token_urlsafe(32)
    now = store.now()
    session.add(
        SessionRow(
            token_sha256=_sha256(token),
            person_id=person_id,
            started_at=now,
            seen_at=now,
            ends_at=now + settings_in(session).longest,
            ended_at=None,
        )
    )
    session.execute(delete(SessionRow).where(SessionRow.ends_at < now - KEPT_AFTER_END))
    session.flush()
    return token


def person_for_token(store: Store, token: str | None) -> Person | None:
    """Who is signed in with this token and may use the program now.

    None for an unknown or ended session, and for someone who must first change a password that was shown to another.
    """
    found = holder(store, token)
    return found.person if found is not None and not found.must_change else None


def holder(store: Store, token: str | None) -> Holder | None:
    """Whose living session this is, whether or not the password must be changed first."""
    if not token:
        return None
    token_sha256, now = _sha256(token), store.now()
    with store.reading() as session:
        found = session.execute(
            select(SessionRow, PersonRow, AccountRow)
            .join(PersonRow, PersonRow.id == SessionRow.person_id)
            .outerjoin(AccountRow, AccountRow.person_id == PersonRow.id)
            .where(SessionRow.token_sha256 == token_sha256)
        ).first()
        if found is None:
            return None
        row, person, account = found
        if person.erased_at is not None or not _lives(row, now, lambda: settings_in(session).idle):
            return None
        if person.handle == LOCAL_HANDLE and not settings_in(session).alone_open:
            return None
        if account is not None and account.closed_at is not None:
            return None
        held = Holder(person=person_of(session, person), must_change=account is not None and account.must_change)
        seen_at = row.seen_at
    if now - seen_at > SEEN_EVERY:
        _note_use(store, token_sha256, now)
    return held


def work_alone(store: Store) -> SignedIn:
    """A session for practising at this computer without an account.

    Raises
    ------
    NotAllowed
        Where the school did not leave that open.
    """
    person = local_person(store)
    with store.writing() as session:
        if not settings_in(session).alone_open:
            raise NotAllowed("This school asks everyone to sign in.")
        return SignedIn(token=begin_session(store, session, person.id), person=person)


def _lives(row: SessionRow, now: datetime, idle: Callable[[], timedelta]) -> bool:
    if row.ended_at is not None or now >= row.ends_at:
        return False
    pause = now - row.seen_at
    # What the school chose is read only where it matters.
    return pause < SHORTEST_IDLE or pause < idle()


def _note_use(store: Store, token_sha256: str, now: datetime) -> None:
    # A database that is busy at this moment must not keep anyone from reading a page.
    with suppress(StorageFault), store.writing() as session:
        session.execute(
            update(SessionRow)
            .where(SessionRow.token_sha256 == token_sha256, SessionRow.ended_at.is_(None))
            .values(seen_at=now)
        )


def sign_out(store: Store, token: str | None) -> None:
    """End the session of this token at once, in every tab; an unknown token is fine."""
    if not token:
        return
    with store.writing() as session:
        session.execute(
            update(SessionRow)
            .where(SessionRow.token_sha256 == _sha256(token), SessionRow.ended_at.is_(None))
            .values(ended_at=store.now())
        )


@service(Right.OWN_ACCOUNT)
def sign_out_everywhere(store: Store, person: Person) -> int:
    """End all sessions of the person; returns how many there were."""
    with store.writing() as session:
        return end_sessions(store, session, person.id)


def end_sessions(store: Store, session: Session, person_id: str) -> int:
    """End all sessions of someone within a transaction under way."""
    ended = session.scalars(
        update(SessionRow)
        .where(SessionRow.person_id == person_id, SessionRow.ended_at.is_(None))
        .values(ended_at=store.now())
        .returning(SessionRow.token_sha256)
    )
    return len(ended.all())


def end_every_session(store: Store, session: Session) -> int:
    """End all sessions of everyone, in a transaction under way; for whatever brings back an older database.

    A backup holds sessions as they were: someone who has signed out since would be signed in again by restoring it.
    """
    alive = update(SessionRow).where(SessionRow.ended_at.is_(None)).values(ended_at=store.now())
    return len(session.scalars(alive.returning(SessionRow.token_sha256)).all())


def _sha256(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
