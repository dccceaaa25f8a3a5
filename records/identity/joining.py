"""Joining a class by its code (`records.identity.join_codes`), with an account or with a new one; wrong codes are counted."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from records.auditing.audit import Outcome, append
from records.classroom.membership import STUDENT, add_member, come_back_as_student
from records.errors import SignInRefused
from records.identity import limits, passwords
from records.identity.account_rows import accounts_exist, add_account, free_person
from records.identity.handles import new_handle
from records.identity.join_codes import class_of_code
from records.identity.people import Person, Role
from records.identity.sessions import SignedIn, begin_session
from records.models import MemberRow
from records.rights import Right, service
from records.store import Store

_NO_SUCH_CODE = "This code opens no class here; it may be mistyped, or its time may be over."


@dataclass(frozen=True, kw_only=True)
class Joined:
    """The class that was joined."""

    class_id: str
    title: str


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
        opens = accounts_exist(session) and class_of_code(store, session, code) is not None
        if not opens:
            append(store, session, actor_id=None, action="join_class", outcome=Outcome.REFUSED)
    if not opens:
        raise SignInRefused(_NO_SUCH_CODE)
    limits.was_right(store, lowered=(by_address,))


def enter_class(store: Store, session: Session, person_id: str, code: str) -> Joined | None:
    """Make someone a student of the class that the code opens, in a transaction under way; None for no such code."""
    found = class_of_code(store, session, code)
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
