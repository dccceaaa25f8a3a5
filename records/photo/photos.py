"""Photos: in through a consent, out only while it covers the use."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, selectinload

from records.access import covered_photo, visible_photo
from records.consent import consents
from records.consent.consents import DollDeclaration, Kind, NewConsent, Scope
from records.identity.people import Person
from records.models import ConsentRow, KeyRow, PhotoRow
from records.photo.pictures import Picture, files_of, store_picture, there
from records.photo.room import check_room
from records.rights import Right, service
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


@service(Right.ADD_PHOTO)
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
    """Take in an already cleaned photo and its copy for the screen, both or neither.

    Parameters
    ----------
    store : Store
    person : Person
        Becomes the owner.
    jpeg, screen_jpeg : bytes
        JPEGs rebuilt from pixels; anything beside the pixels is refused.
    width, height : int
        Pixels of `jpeg`.
    title : str
        1 to 80 characters, chosen by the person; never the name of the uploaded file.
    consent : NewConsent, DollDeclaration or str
        What allows it, or the id of one of the person's consents already on record.

    Raises
    ------
    ConsentRefused
        Where it does not cover the person's own practice today.
    NoRoom
        The disk, the person's share or the school's is used up.
    InvalidRecord, NotFound, NotAllowed, StorageFault
        In all cases nothing is stored.
    """
    picture = Picture(jpeg=jpeg, screen_jpeg=screen_jpeg, width=width, height=height, title=title)
    written: list[str] = []
    try:
        with store.writing() as session:
            allowed_by = _consent_row(store, session, person, consent)
            refused = consents.refusal(allowed_by, Scope.OWN_PRACTICE, store.today())
            if refused is not None:
                raise refused
            check_room(store, session, person.id, picture.n_bytes)
            row = store_picture(store, session, picture, allowed_by, written)
            row.owner_id = person.id
            session.flush()
            record = record_of(store, row)
    except BaseException:
        store.files.remove(written)
        raise
    return record


def _consent_row(
    store: Store, session: Session, person: Person, consent: NewConsent | DollDeclaration | str
) -> ConsentRow:
    if isinstance(consent, str):
        return consents.own_consent(session, person, consent)
    consents.check_class(session, person, consent)
    row = consents.new_row(store, person.id, consent)
    session.add(row)
    return row


@service(Right.PRACTISE)
def list_photos(store: Store, person: Person) -> tuple[PhotoRecord, ...]:
    """Samples first, then the person's own, newest first."""
    shown = (
        select(PhotoRow)
        .where(PhotoRow.removed_at.is_(None), or_(PhotoRow.sample_id.is_not(None), PhotoRow.owner_id == person.id))
        .options(selectinload(PhotoRow.key).load_only(KeyRow.photo_id))
    )
    with store.reading() as session:
        rows = session.scalars(shown).all()
        samples = sorted((row for row in rows if row.sample_id is not None), key=lambda row: row.sample_id or "")
        own = sorted((row for row in rows if row.sample_id is None), key=lambda row: row.added_at, reverse=True)
        return tuple(record_of(store, row) for row in (*samples, *own))


@service(Right.PRACTISE)
def get_photo(store: Store, person: Person, photo_id: str) -> PhotoRecord:
    """One photo. Raises NotFound, NotAllowed, ConsentWithdrawn."""
    with store.reading() as session:
        return record_of(store, visible_photo(session, person, photo_id))


@service(Right.PRACTISE)
def read_bytes(
    store: Store, person: Person, photo_id: str, kind: PhotoKind = "full", *, use: Scope = Scope.OWN_PRACTICE
) -> bytes:
    """The JPEG, after asking the consent for this use at this moment.

    Parameters
    ----------
    kind : "full" or "screen"
    use : Scope
        What it will be used for.

    Raises
    ------
    ConsentRefused, NotFound, NotAllowed, StorageFault
    """
    with store.reading() as session:
        row = covered_photo(store, session, person, photo_id, use)
        full, screen = files_of(row)
    return store.files.read(full if kind == "full" else screen)


@service(Right.PRACTISE)
def check_use(store: Store, person: Person, photo_id: str, use: Scope) -> None:
    """Return only where the consent covers the use today. Raises as `read_bytes`."""
    with store.reading() as session:
        covered_photo(store, session, person, photo_id, use)


def record_of(store: Store, row: PhotoRow) -> PhotoRecord:
    """The row of a photo that is there, as the rest of the program sees it."""
    refused = consents.refusal(row.consent, Scope.OWN_PRACTICE, store.today())
    return PhotoRecord(
        id=row.id,
        title=there(row.title),
        width=there(row.width),
        height=there(row.height),
        kind=Kind(row.consent.kind),
        consent_id=row.consent.id,
        faces_covered=row.consent.faces_covered,
        expires_on=row.consent.expires_on,
        refusal=None if refused is None else str(refused),
        sample_id=row.sample_id,
        has_key=row.key is not None,
        added_at=row.added_at,
    )
