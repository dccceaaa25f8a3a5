"""Who may do what: one table, and the door that every service stands behind.

A service is a function `(store, person, ...)` marked with `@service(Right.X)`. Before it runs, the person's roles are
read afresh and looked up in `WHO_MAY`; what it then touches (own photo, own class) it checks itself, in its own
transaction. Every refusal, of either kind, goes into the audit log.
"""

from collections.abc import Callable, Mapping
from enum import StrEnum
from functools import wraps
from types import MappingProxyType
from typing import Concatenate, ParamSpec, TypeVar

from sqlalchemy import select

from records.auditing.audit import Outcome, append
from records.errors import KeyHidden, NotAllowed
from records.identity.people import Person, Role
from records.models import PersonRow, RoleRow
from records.store import Store

P = ParamSpec("P")
T = TypeVar("T")


class Right(StrEnum):
    """What a person may be allowed to do."""

    PRACTISE = "practise"
    ADD_PHOTO = "add a photo"
    KEEP_CONSENTS = "keep consents"
    OVERSEE_CONSENTS = "oversee all consents"
    WRITE_KEY = "write a reference key"
    BUILD_SET = "build a teaching set"
    SHARE_SET = "share a teaching set"
    PRINT_SET = "print a teaching set"
    JOIN_CLASS = "join a class"
    RUN_CLASS = "run a class"
    REVIEW = "review work"
    RESET_PASSWORD = "reset a password"
    MANAGE_PEOPLE = "manage people"
    OWN_ACCOUNT = "keep the own account"
    READ_AUDIT = "read the audit log"


_EVERYONE = frozenset(Role)
_TEACHERS = frozenset({Role.EDUCATOR, Role.INSTRUCTOR})
_EDUCATOR = frozenset({Role.EDUCATOR})

#: The whole of it. Someone without any role may do nothing.
WHO_MAY: Mapping[Right, frozenset[Role]] = MappingProxyType(
    {
        Right.PRACTISE: _EVERYONE,
        Right.ADD_PHOTO: _EVERYONE,
        Right.KEEP_CONSENTS: _EVERYONE,
        Right.OVERSEE_CONSENTS: _EDUCATOR,
        Right.WRITE_KEY: _TEACHERS,
        Right.BUILD_SET: _EDUCATOR,
        Right.SHARE_SET: _EDUCATOR,
        Right.PRINT_SET: _TEACHERS,
        Right.JOIN_CLASS: _EVERYONE,
        Right.RUN_CLASS: frozenset({Role.INSTRUCTOR}),
        Right.REVIEW: frozenset({Role.INSTRUCTOR}),
        Right.RESET_PASSWORD: _TEACHERS,
        Right.MANAGE_PEOPLE: _EDUCATOR,
        Right.OWN_ACCOUNT: _EVERYONE,
        Right.READ_AUDIT: _EDUCATOR,
    }
)

#: Every service by its full name, filled as modules are imported; the rights test walks it.
SERVICES: dict[str, Right] = {}


def service(
    right: Right,
) -> Callable[[Callable[Concatenate[Store, Person, P], T]], Callable[Concatenate[Store, Person, P], T]]:
    """Mark a function as a service that needs this right."""

    def mark(function: Callable[Concatenate[Store, Person, P], T]) -> Callable[Concatenate[Store, Person, P], T]:
        name = f"{function.__module__}.{function.__name__}"
        SERVICES[name] = right

        @wraps(function)
        def guarded(store: Store, person: Person, /, *args: P.args, **kwargs: P.kwargs) -> T:
            touched = next((arg for arg in args if isinstance(arg, str)), None)
            try:
                check_right(store, person, right)
                return function(store, person, *args, **kwargs)
            except (NotAllowed, KeyHidden):
                _write_down(store, person, function.__name__, touched)
                raise

        return guarded

    return mark


def check_right(store: Store, person: Person, right: Right) -> None:
    """Return only where the person holds a role that has this right now. Raises NotAllowed."""
    held = roles_of(store, person.id)
    if not held & WHO_MAY[right]:
        raise NotAllowed(
            f"Your roles here do not let you {right.value}; whoever runs this school's page can change them."
        )


def roles_of(store: Store, person_id: str) -> frozenset[Role]:
    """The roles that someone holds now; none for someone unknown or erased."""
    found = (
        select(RoleRow.role)
        .join(PersonRow, PersonRow.id == RoleRow.person_id)
        .where(RoleRow.person_id == person_id, PersonRow.erased_at.is_(None))
    )
    with store.reading() as session:
        return frozenset(Role(role) for role in session.scalars(found))


def _write_down(store: Store, person: Person, action: str, touched: str | None) -> None:
    with store.writing() as session:
        append(store, session, actor_id=person.id, action=action, outcome=Outcome.REFUSED, object_id=touched)
