"""Photos: in through a consent, out only while it covers the use."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from records.consents import DollDeclaration, Kind, NewConsent, Scope
from records.people import Person
from records.store import Store

PhotoKind = Literal["full", "screen"]


@dataclass(frozen=True, kw_only=True)
class PhotoRecord:
    """What is known about a stored photo.

    Parameters
    ----------
    id : str
        Random; the only name that leaves this package. The original file name is never stored.
    title : str
        Chosen by the person who added it.
    width, height : int
        Pixels of the full photo.
    kind : Kind
        DOLL or PERSON.
    consent_id : str
    faces_covered : bool
    expires_on : date or None
        Last day of the consent; None for a doll.
    refusal : str or None
        Why it cannot be practised on today, one sentence; None where it can.
    sample_id : str or None
        Which shipped sample it is; None for a person's own photo.
    has_key : bool
        Whether there is a reference key, never what stands in it.
    added_at : datetime
        UTC.
    """

    id: str
    title: str
    width: int
    height: int
    kind: Kind
    consent_id: str
    faces_covered: bool
    expires_on: date | None
    refusal: str | None
    sample_id: str | None
    has_key: bool
    added_at: datetime


def add_photo(
    store: Store,
    person: Person,
    *,
    jpeg: bytes,
    screen_jpeg: bytes,
    width: int,
    height: int,
    title: str,
    consent: NewConsent | DollDeclaration | str,
) -> PhotoRecord:
    """Take in an already cleaned photo and its copy for the screen, both or neither."""
    raise NotImplementedError


def list_photos(store: Store, person: Person) -> tuple[PhotoRecord, ...]:
    """Samples first, then the person's own, newest first."""
    raise NotImplementedError


def get_photo(store: Store, person: Person, photo_id: str) -> PhotoRecord:
    """One photo. Raises NotFound, NotAllowed."""
    raise NotImplementedError


def read_bytes(
    store: Store, person: Person, photo_id: str, kind: PhotoKind = "full", *, use: Scope = Scope.OWN_PRACTICE
) -> bytes:
    """The JPEG, after asking the consent for this use at this moment."""
    raise NotImplementedError


def check_use(store: Store, person: Person, photo_id: str, use: Scope) -> None:
    """Return only where the consent covers the use today. Raises ConsentRefused with the reason."""
    raise NotImplementedError
