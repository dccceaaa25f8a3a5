"""Ending the use of photos: the picture and all that was read off it go, the scores stay without it."""

from records.consents import ConsentRecord
from records.people import Person
from records.store import Store


def withdraw(store: Store, person: Person, consent_id: str) -> ConsentRecord:
    """Withdraw a consent and remove all photos that rest on it."""
    raise NotImplementedError


def remove_photo(store: Store, person: Person, photo_id: str) -> None:
    """Remove one photo; its consent stays on record."""
    raise NotImplementedError
