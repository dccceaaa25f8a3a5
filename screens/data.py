"""What the screens work on: the one store of this process, the person at this computer, the checklist."""

import threading
from functools import cache

from records.people import Person, local_person
from records.store import Store
from rubric.checklist import shipped_checklist
from rubric.items import Checklist
from screens.samples import add_shipped_samples

_opening = threading.Lock()


@cache
def _opened() -> Store:
    store = Store.open()
    add_shipped_samples(store)
    return store


def store() -> Store:
    """The open store; the first call opens it and takes in the shipped doll photos.

    Raises
    ------
    records.errors.StorageFault
        Where the data folder or the database cannot be used; the next call tries again.
    """
    with _opening:
        return _opened()


def me() -> Person:
    """The person at this computer."""
    return local_person(store())


def checklist() -> Checklist:
    """The checklist in use."""
    return shipped_checklist()
