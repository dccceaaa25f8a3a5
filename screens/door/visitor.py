"""Who a request or a running page belongs to."""

from functools import lru_cache

from records.identity.accounts import has_accounts
from records.identity.people import Person, local_person
from records.identity.sessions import person_for_token
from records.settings import door_secret
from records.store import Store
from screens.door.cookies import is_mark


@lru_cache(maxsize=4)
def secret_of(store: Store) -> bytes:
    """The installation's secret, read once a process."""
    return door_secret(store)


def visitor_of(store: Store, token: str | None) -> Person | None:
    """Whoever is signed in with the token; while nobody has an account, the person at this computer."""
    person = person_for_token(store, token)
    if person is None and not has_accounts(store):
        return local_person(store)
    return person


def picture_visitor(store: Store, mark: str | None, token: str | None) -> Person | None:
    """As `visitor_of`, for a request by its address alone: then this computer's person must bring the mark too."""
    person = person_for_token(store, token)
    if person is None and is_mark(secret_of(store), mark) and not has_accounts(store):
        return local_person(store)
    return person
