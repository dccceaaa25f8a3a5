"""Managing people: accounts that others made, roles, a new password for whoever forgot theirs, closing an account."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import delete, exists, func, or_, select
from sqlalchemy.orm import Session, aliased

from records.auditing.audit import append
from records.errors import InvalidRecord, NotAllowed
from records.identity import passwords
from records.identity.account_rows import accounts_exist, add_account, free_person, keep_an_educator, someone
from records.identity.handles import new_handle
from records.identity.people import LOCAL_HANDLE, Person, Role, holds
from records.identity.sessions import end_sessions
from records.models import AccountRow, IdentityRow, MemberRow, PersonRow, RoleRow, SessionRow
from records.rights import Right, service
from records.store import Store
from rubric.natural_order import natural


@dataclass(frozen=True, kw_only=True)
class PersonEntry:
    """Someone as a list of people shows them.

    Parameters
    ----------
    last_in : date or None
        The day of the last sign-in, on this computer's calendar; None where there was none in the last weeks.
    has_password : bool
        False for someone whom another system of the school vouches for.
    must_change : bool
        A password was made for them that they have not changed yet.
    """

    id: str
    handle: str
    roles: frozenset[Role]
    last_in: date | None
    has_password: bool
    must_change: bool
    closed: bool


@service(Right.MANAGE_PEOPLE)
def list_people(store: Store, person: Person) -> tuple[PersonEntry, ...]:  # noqa: ARG001  (the right is asked above)
    """Everyone here, by handle, without whoever works alone at this computer."""
    with store.reading() as session:
        return _entries(session, None)


@service(Right.RESET_PASSWORD)
def my_students(store: Store, person: Person) -> tuple[PersonEntry, ...]:
    """The students of the classes that the person runs, by handle."""
    with store.reading() as session:
        return _entries(session, _students_of(session, person.id))


@service(Right.OWN_ACCOUNT)
def own_entry(store: Store, person: Person) -> PersonEntry | None:
    """The person's own line of the list; None for whoever works alone at this computer."""
    with store.reading() as session:
        return next(iter(_entries(session, frozenset({person.id}))), None)


def _students_of(session: Session, instructor_id: str) -> frozenset[str]:
    mine = aliased(MemberRow)
    found = (
        select(MemberRow.person_id)
        .join(mine, mine.class_id == MemberRow.class_id)
        .where(
            MemberRow.part == "student",
            MemberRow.left_at.is_(None),
            mine.part == "instructor",
            mine.left_at.is_(None),
            mine.person_id == instructor_id,
        )
    )
    return frozenset(session.scalars(found))


def _entries(session: Session, only: frozenset[str] | None) -> tuple[PersonEntry, ...]:
    last_in = (
        select(SessionRow.person_id, func.max(SessionRow.started_at).label("at"))
        .group_by(SessionRow.person_id)
        .subquery()
    )
    # The invented students of an example class have no way in, and nothing here is for them.
    vouched_for = exists().where(IdentityRow.person_id == PersonRow.id)
    can_come_in = or_(AccountRow.person_id.is_not(None), vouched_for, last_in.c.at.is_not(None))
    wanted = (
        select(PersonRow, AccountRow, last_in.c.at)
        .outerjoin(AccountRow, AccountRow.person_id == PersonRow.id)
        .outerjoin(last_in, last_in.c.person_id == PersonRow.id)
        .where(PersonRow.erased_at.is_(None), PersonRow.handle != LOCAL_HANDLE, can_come_in)
    )
    if only is not None:
        wanted = wanted.where(PersonRow.id.in_(only))
    held: dict[str, set[Role]] = {}
    for person_id, role in session.execute(select(RoleRow.person_id, RoleRow.role)):
        held.setdefault(person_id, set()).add(Role(role))
    found = [_entry(row, account, frozenset(held.get(row.id, ())), at) for row, account, at in session.execute(wanted)]
    return tuple(sorted(found, key=lambda one: natural(one.handle)))


def _entry(row: PersonRow, account: AccountRow | None, roles: frozenset[Role], at: datetime | None) -> PersonEntry:
    return PersonEntry(
        id=row.id,
        handle=row.handle,
        roles=roles,
        last_in=at.astimezone().date() if at is not None else None,
        has_password=account is not None,
        must_change=account is not None and account.must_change,
        closed=account is not None and account.closed_at is not None,
    )


@service(Right.MANAGE_PEOPLE)
def make_account(store: Store, person: Person, *, handle: str, roles: frozenset[Role]) -> tuple[Person, str]:
    """Make an account for someone; returns them and their first password, which is shown once and must be changed.

    Raises
    ------
    InvalidRecord
    """
    kept = new_handle(handle)
    if not roles:
        raise InvalidRecord("Someone without a role could do nothing here; please choose at least one.")
    first = passwords.one_time_password()
    password_hash = passwords.hashed(first)
    with store.writing() as session:
        if not accounts_exist(session):
            # Else whoever works alone would shut the program to themselves.
            raise InvalidRecord("The first account is made by opening a school on this computer.")
        made = free_person(store, session, kept, roles, given_by=person.id)
        add_account(store, session, made.id, password_hash, must_change=True)
        append(store, session, actor_id=person.id, action="make_account", object_id=made.id)
        return made, first


@service(Right.RESET_PASSWORD)
def reset_password(store: Store, person: Person, other_id: str) -> str:
    """A new password for someone, shown once; it must be changed at the next sign-in, and all sessions end.

    An educator does this for anyone, an instructor for students of an own class who are nothing more than students.

    Raises
    ------
    NotFound, NotAllowed
    InvalidRecord
        Where they sign in elsewhere, or the account is closed.
    """
    first = passwords.one_time_password()
    password_hash = passwords.hashed(first)
    with store.writing() as session:
        someone(session, other_id)
        _check_may_reset(session, person, other_id)
        account = session.get(AccountRow, other_id, with_for_update=True)
        if account is None:
            raise InvalidRecord("They sign in with the school's own system, so there is no password here.")
        if account.closed_at is not None:
            raise InvalidRecord("This account is closed; an educator can open it again.")
        account.password_hash, account.must_change, account.set_at = password_hash, True, store.now()
        end_sessions(store, session, other_id)
        append(store, session, actor_id=person.id, action="reset_password", object_id=other_id)
    return first


def _check_may_reset(session: Session, person: Person, other_id: str) -> None:
    if holds(session, person.id, Role.EDUCATOR):
        return
    # Else an instructor could take over the account of a teacher who joined the class to look at it.
    teaches = any(holds(session, other_id, role) for role in Role if role != Role.STUDENT)
    if other_id not in _students_of(session, person.id) or teaches:
        raise NotAllowed("You can make a new password for students of your own classes only.")


@service(Right.MANAGE_PEOPLE)
def give_role(store: Store, person: Person, other_id: str, role: Role) -> None:
    """Give someone a role; one that they hold already stays as it is. Raises NotFound."""
    with store.writing() as session:
        someone(session, other_id)
        if session.get(RoleRow, (other_id, role.value)) is None:
            session.add(RoleRow(person_id=other_id, role=role.value, given_by=person.id, given_at=store.now()))
            append(store, session, actor_id=person.id, action=f"give_role {role.value}", object_id=other_id)


@service(Right.MANAGE_PEOPLE)
def take_role(store: Store, person: Person, other_id: str, role: Role) -> None:
    """Take a role from someone, from the next click on.

    Raises
    ------
    NotFound
    InvalidRecord
        Where nobody would be left who manages people.
    """
    with store.writing() as session:
        someone(session, other_id)
        if role == Role.EDUCATOR:
            keep_an_educator(session, other_id)
        row = session.get(RoleRow, (other_id, role.value), with_for_update=True)
        if row is not None:
            session.delete(row)
            append(store, session, actor_id=person.id, action=f"take_role {role.value}", object_id=other_id)


@service(Right.MANAGE_PEOPLE)
def close_account(store: Store, person: Person, other_id: str) -> None:
    """Let someone sign in no longer, here or through the school's system; what they did stays.

    Raises
    ------
    NotFound
    InvalidRecord
        Where nobody would be left who manages people.
    """
    with store.writing() as session:
        someone(session, other_id)
        keep_an_educator(session, other_id)
        account = session.get(AccountRow, other_id, with_for_update=True)
        if account is not None:
            account.closed_at = account.closed_at or store.now()
        session.execute(delete(IdentityRow).where(IdentityRow.person_id == other_id))
        end_sessions(store, session, other_id)
        append(store, session, actor_id=person.id, action="close_account", object_id=other_id)


@service(Right.MANAGE_PEOPLE)
def open_account_again(store: Store, person: Person, other_id: str) -> str:
    """Open a closed account again, with a new password that is shown once. Raises NotFound, InvalidRecord."""
    first = passwords.one_time_password()
    password_hash = passwords.hashed(first)
    with store.writing() as session:
        someone(session, other_id)
        account = session.get(AccountRow, other_id, with_for_update=True)
        if account is None or account.closed_at is None:
            raise InvalidRecord("This account is not closed.")
        account.password_hash, account.must_change, account.set_at = password_hash, True, store.now()
        account.closed_at = None
        append(store, session, actor_id=person.id, action="open_account_again", object_id=other_id)
    return first
