"""People whom another system of the school vouches for (OpenID Connect): an issuer and its lasting name for someone.

The page learns who it is from Streamlit, in a run; only an answer of an own route can set the session's cookie. So the
run hands a ticket to the browser, which brings it back by POST: random, kept as a hash, good for two minutes and once.
"""

import hashlib
import secrets
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sqlalchemy import delete, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.errors import InvalidRecord, SignInRefused
from records.identity import joining
from records.identity.account_rows import free_person
from records.identity.accounts import sign_in
from records.identity.handles import new_handle
from records.identity.people import Person, Role, person_of
from records.identity.sessions import SignedIn, begin_session
from records.models import IdentityRow, PersonRow, SettingRow
from records.store import Store

TICKET_LIVES = timedelta(minutes=2)
#: Someone who is new here has to find a class code or a password.
NEWCOMER_TICKET_LIVES = timedelta(minutes=15)
LONGEST = 300
_PREFIX = "ticket "
_OVER = "This took too long, or was done already; please sign in with the school's system again."


@dataclass(frozen=True, kw_only=True)
class Identity:
    """Who someone is to the system that vouches for them; `subject` is that system's own lasting name."""

    issuer: str
    subject: str

    def __post_init__(self) -> None:
        """Raise InvalidRecord where one is missing or longer than can be kept whole."""
        if not 0 < len(self.issuer) <= LONGEST or not 0 < len(self.subject) <= LONGEST:
            raise InvalidRecord("The school's system does not say who you are in a way that this program can keep.")


@dataclass(frozen=True, kw_only=True)
class Newcomer:
    """Someone vouched for who is not known here yet, with the ticket for the next step."""

    ticket: str = field(repr=False)


def new_ticket(store: Store, identity: Identity, lives: timedelta = TICKET_LIVES) -> str:
    """A ticket for the browser of whoever was just vouched for."""
    ticket, now = secrets.token_urlsafe(32), store.now()
    value = {"issuer": identity.issuer, "subject": identity.subject, "ends_at": (now + lives).isoformat()}
    with store.writing() as session:
        _drop_old(session, now)
        session.add(SettingRow(name=_name(ticket), value=value))
    return ticket


def _name(ticket: str) -> str:
    # 128 bits of the hash fit the column.
    return _PREFIX + hashlib.sha256(ticket.encode("utf-8", "surrogatepass")).hexdigest()[:32]


def _drop_old(session: Session, now: datetime) -> None:
    for row in session.scalars(select(SettingRow).where(SettingRow.name.startswith(_PREFIX))):
        if datetime.fromisoformat(row.value["ends_at"]) < now:
            session.delete(row)


def _identity_in(store: Store, ticket: str) -> Identity:
    """Whom the ticket stands for. Raises SignInRefused."""
    with store.reading() as session:
        row = session.get(SettingRow, _name(ticket))
        if row is None or datetime.fromisoformat(row.value["ends_at"]) < store.now():
            raise SignInRefused(_OVER)
        return Identity(issuer=row.value["issuer"], subject=row.value["subject"])


def _use_up(session: Session, ticket: str) -> None:
    """Take the ticket away, in the transaction that does what it was for. Raises SignInRefused."""
    gone = delete(SettingRow).where(SettingRow.name == _name(ticket)).returning(SettingRow.name)
    if session.scalar(gone) is None:
        raise SignInRefused(_OVER)


def _person(session: Session, identity: Identity) -> Person | None:
    link = session.get(IdentityRow, (identity.issuer, identity.subject))
    row = session.get(PersonRow, link.person_id) if link is not None else None
    return person_of(session, row) if row is not None and row.erased_at is None else None


def come_in(store: Store, ticket: str) -> SignedIn | Newcomer:
    """Sign in whoever the ticket stands for; someone new gets a ticket for the next step.

    Raises
    ------
    SignInRefused
        The ticket is unknown, used or too old.
    """
    identity = _identity_in(store, ticket)
    with store.writing() as session:
        _use_up(session, ticket)
        person = _person(session, identity)
        if person is not None:
            append(store, session, actor_id=person.id, action="come_in", object_id=person.id)
            return SignedIn(token=begin_session(store, session, person.id), person=person)
    return Newcomer(ticket=new_ticket(store, identity, NEWCOMER_TICKET_LIVES))


def newcomer_joins(store: Store, ticket: str, *, code: str, handle: str, from_where: str) -> SignedIn:
    """Make a student of a newcomer who holds a class code, and sign in; after an error the ticket is still good.

    Raises
    ------
    InvalidRecord
        The handle cannot be taken.
    SignInRefused, TooManyTries
    """
    identity = _identity_in(store, ticket)
    joining.check_code(store, code, from_where)
    kept = new_handle(handle)
    with store.writing() as session:
        _use_up(session, ticket)
        made = free_person(store, session, kept, frozenset({Role.STUDENT}))
        _link(store, session, made.id, identity)
        return joining.enter_as_new(store, session, made, code)


def newcomer_has_account(store: Store, ticket: str, *, handle: str, password: str, from_where: str) -> SignedIn:
    """Link a newcomer to the account here whose password they know; after an error the ticket is still good.

    Raises
    ------
    SignInRefused, TooManyTries
    """
    identity = _identity_in(store, ticket)
    signed_in = sign_in(store, handle=handle, password=password, from_where=from_where)
    with store.writing() as session:
        _use_up(session, ticket)
        _link(store, session, signed_in.person.id, identity)
        append(store, session, actor_id=signed_in.person.id, action="link_identity", object_id=signed_in.person.id)
    return signed_in


def _link(store: Store, session: Session, person_id: str, identity: Identity) -> None:
    try:
        with session.begin_nested():
            session.add(
                IdentityRow(
                    issuer=identity.issuer, subject=identity.subject, person_id=person_id, linked_at=store.now()
                )
            )
    except IntegrityError as error:
        raise SignInRefused(_OVER) from error
