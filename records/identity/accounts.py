"""Accounts: the first one, signing in, and the change of a password.

Before the first account one person works alone at this computer. Whoever makes the first account takes that person's
photos and work over; who works alone afterwards, where that stays open, is someone new who may practise and no more.
"""

from typing import NoReturn

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from records.auditing.audit import Outcome, append
from records.errors import InvalidRecord, NotAllowed, SignInRefused
from records.identity import limits, passwords
from records.identity.account_rows import accounts_exist, add_account, check_free, free_person
from records.identity.handles import folded, new_handle
from records.identity.managing import (
    PersonEntry,
    close_account,
    give_role,
    list_people,
    make_account,
    my_students,
    open_account_again,
    own_entry,
    reset_password,
    take_role,
)
from records.identity.people import LOCAL_HANDLE, Person, Role, add_person, person_of
from records.identity.sessions import SignedIn, begin_session, end_sessions
from records.models import AccountRow, PersonRow, RoleRow
from records.rights import Right, service
from records.settings import first_settings, renew_settings
from records.store import Store

__all__ = [
    "PersonEntry",
    "SignedIn",
    "change_password",
    "close_account",
    "first_account",
    "give_role",
    "has_accounts",
    "list_people",
    "make_account",
    "my_students",
    "open_account_again",
    "own_entry",
    "reset_password",
    "sign_in",
    "take_role",
]

_NO_MATCH = "This name and this password do not match an account here."
_NOT_THE_FIRST = "This school has its first account already; please sign in, or ask for an account."


def has_accounts(store: Store) -> bool:
    """Whether this is a school's installation; without accounts one person works alone at this computer."""
    with store.reading() as session:
        return accounts_exist(session)


def first_account(store: Store, *, handle: str, password: str, alone_open: bool = False) -> SignedIn:
    """Make the first account, with all roles, and sign in.

    Parameters
    ----------
    handle, password
        As `records.identity.handles` and `records.identity.passwords` allow.
    alone_open : bool
        Whether practising at this computer without signing in stays open.

    Raises
    ------
    InvalidRecord
    NotAllowed
        Where there is an account already.
    """
    kept = new_handle(handle)
    passwords.check_new(password, kept)
    if has_accounts(store):
        raise NotAllowed(_NOT_THE_FIRST)
    password_hash = passwords.hashed(password)
    with store.writing() as session:
        if accounts_exist(session):
            raise NotAllowed(_NOT_THE_FIRST)
        _only_once(session, alone_open=alone_open)
        person = _take_over(store, session, kept)
        add_account(store, session, person.id, password_hash, must_change=False)
        token = begin_session(store, session, person.id)
        append(store, session, actor_id=person.id, action="first_account", object_id=person.id)
        return SignedIn(token=token, person=person)


def _only_once(session: Session, *, alone_open: bool) -> None:
    try:
        with session.begin_nested():
            first_settings(session, alone_open=alone_open)
    except IntegrityError as error:
        # Another process was faster, or everyone of an earlier school is gone.
        renew_settings(session, alone_open=alone_open)
        if accounts_exist(session):
            raise NotAllowed(_NOT_THE_FIRST) from error


def _take_over(store: Store, session: Session, kept: str) -> Person:
    local = session.scalar(select(PersonRow).where(PersonRow.handle == LOCAL_HANDLE))
    if local is None:
        person = free_person(store, session, kept, frozenset(Role))
    else:
        check_free(session, kept)
        local.handle = kept
        person = person_of(session, local)
        for role in sorted(frozenset(Role) - person.roles):
            session.add(RoleRow(person_id=local.id, role=role.value, given_by=None, given_at=store.now()))
        session.flush()
        person = person_of(session, local)
    add_person(store, session, LOCAL_HANDLE, frozenset({Role.STUDENT}), given_by=person.id)
    return person


def sign_in(store: Store, *, handle: str, password: str, from_where: str) -> SignedIn:
    """Begin a session for whoever knows the password.

    Parameters
    ----------
    from_where : str
        The address that the request came from, for the rate limit; not kept.

    Raises
    ------
    SignInRefused
        The same for an unknown name, a closed account and a wrong password, after the same work.
    TooManyTries
    """
    kept = folded(handle)
    by_handle, by_address = limits.by_handle(kept), limits.by_address(from_where)
    limits.begin_try(store, by_handle, by_address)
    found = _account_of(store, kept)
    password_hash = found.password_hash if found is not None else None
    if not passwords.matches(password_hash, password) or found is None or password_hash is None:
        _refuse(store, found)
    newer = passwords.hashed(password) if passwords.is_outdated(password_hash) else None
    limits.was_right(store, cleared=(by_handle,), lowered=(by_address,))
    with store.writing() as session:
        account = session.get(AccountRow, found.person_id, with_for_update=True)
        # Closed or changed while the hash was computed.
        if account is None or account.closed_at is not None or account.password_hash != password_hash:
            raise SignInRefused(_NO_MATCH)
        if newer is not None:
            account.password_hash = newer
        token = begin_session(store, session, account.person_id)
        append(store, session, actor_id=account.person_id, action="sign_in", object_id=account.person_id)
        person = person_of(session, session.get_one(PersonRow, account.person_id))
        return SignedIn(token=token, person=person, must_change=account.must_change)


def _account_of(store: Store, kept: str) -> AccountRow | None:
    wanted = (
        select(AccountRow)
        .join(PersonRow, PersonRow.id == AccountRow.person_id)
        .where(PersonRow.handle == kept, PersonRow.erased_at.is_(None), AccountRow.closed_at.is_(None))
    )
    with store.reading() as session:
        found = session.scalar(wanted)
        if found is not None:
            session.expunge(found)
        return found


def _refuse(store: Store, account: AccountRow | None) -> NoReturn:
    with store.writing() as session:
        whose = account.person_id if account is not None else None
        append(store, session, actor_id=None, action="sign_in", outcome=Outcome.REFUSED, object_id=whose)
    raise SignInRefused(_NO_MATCH)


@service(Right.OWN_ACCOUNT)
def change_password(store: Store, person: Person, old: str, new: str) -> SignedIn:
    """Change the own password. All sessions end; the one that is returned takes the place of the present one.

    Raises
    ------
    SignInRefused
        The old password is another.
    InvalidRecord
        The new one may not be a password, or is the old one.
    TooManyTries
    """
    limit = limits.by_person(person.id, "change password")
    limits.begin_try(store, limit)
    with store.reading() as session:
        account = session.get(AccountRow, person.id)
        password_hash = account.password_hash if account is not None and account.closed_at is None else None
    if not passwords.matches(password_hash, old):
        raise SignInRefused("The password that you have now is another one.")
    limits.was_right(store, cleared=(limit,))
    passwords.check_new(new, person.handle)
    if new == old:
        raise InvalidRecord("The new password is the one that you have now; please choose another.")
    newer = passwords.hashed(new)
    with store.writing() as session:
        row = session.get(AccountRow, person.id, with_for_update=True)
        if row is None or row.password_hash != password_hash:
            raise SignInRefused("The password was changed in between; please sign in again.")
        row.password_hash, row.must_change, row.set_at = newer, False, store.now()
        end_sessions(store, session, person.id)
        token = begin_session(store, session, person.id)
        append(store, session, actor_id=person.id, action="change_password", object_id=person.id)
        return SignedIn(token=token, person=person)
