"""What the services around accounts share: a free handle, the row of an account, who may still let others in."""

from sqlalchemy import exists, or_, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from records.errors import InvalidRecord, NotFound
from records.identity.people import LOCAL_HANDLE, Person, Role, add_person
from records.models import AccountRow, IdentityRow, PersonRow, RoleRow
from records.store import Store

_TAKEN = "Someone here has this name already; please choose another."


def accounts_exist(session: Session) -> bool:
    """Whether anyone can sign in here; once nobody is left who could, one works alone again."""
    open_account = select(AccountRow.person_id).where(AccountRow.closed_at.is_(None)).limit(1)
    if session.scalar(open_account) is not None:
        return True
    return session.scalar(select(IdentityRow.person_id).limit(1)) is not None


def check_free(session: Session, kept: str) -> None:
    """Raise InvalidRecord where someone has this handle already."""
    if kept == LOCAL_HANDLE or session.scalar(select(PersonRow.id).where(PersonRow.handle == kept)) is not None:
        raise InvalidRecord(_TAKEN)


def free_person(
    store: Store, session: Session, kept: str, roles: frozenset[Role], given_by: str | None = None
) -> Person:
    """A new person whose handle nobody has. Raises InvalidRecord."""
    check_free(session, kept)
    try:
        with session.begin_nested():
            return add_person(store, session, kept, roles, given_by)
    except IntegrityError as error:
        # Another process was faster.
        raise InvalidRecord(_TAKEN) from error


def add_account(store: Store, session: Session, person_id: str, password_hash: str, *, must_change: bool) -> None:
    """Give someone a way to sign in."""
    session.add(
        AccountRow(
            person_id=person_id,
            password_hash=password_hash,
            must_change=must_change,
            set_at=store.now(),
            closed_at=None,
        )
    )
    session.flush()


def someone(session: Session, person_id: str) -> PersonRow:
    """A person who is there and is not the one who works alone at this computer. Raises NotFound."""
    row = session.get(PersonRow, person_id)
    if row is None or row.erased_at is not None or row.handle == LOCAL_HANDLE:
        raise NotFound("There is nobody like that here.")
    return row


def keep_an_educator(session: Session, leaving_id: str) -> None:
    """Raise InvalidRecord where nobody but this person could still manage people here."""
    # Locked, so that two educators cannot remove each other at the same moment.
    held = select(RoleRow.person_id).where(RoleRow.role == Role.EDUCATOR.value).with_for_update()
    others = [person_id for person_id in session.scalars(held) if person_id != leaving_id]
    open_account = exists().where(AccountRow.person_id == PersonRow.id, AccountRow.closed_at.is_(None))
    vouched_for = exists().where(IdentityRow.person_id == PersonRow.id)
    can_sign_in = select(PersonRow.id).where(
        PersonRow.id.in_(others), PersonRow.erased_at.is_(None), or_(open_account, vouched_for)
    )
    if session.scalar(can_sign_in.limit(1)) is None:
        raise InvalidRecord("Someone must stay who manages people here; first make someone else an educator.")
