"""Ending the use of photos: the picture and all that was read off it go, the scores stay without it.

First the records change, in one transaction, and from then on nothing can be read; then the files go. A process that
is killed in between leaves files without a record, which the next opening of the store removes.
"""

from dataclasses import replace

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from records.access import own_photo
from records.consents import ConsentRecord, own_consent, record_of
from records.errors import StorageFault
from records.models import AttemptRow, ConsentRow, PhotoRow
from records.people import Person
from records.pictures import files_of
from records.rights import Right, service
from records.store import Store
from records.stored_json import Json, stored_key, stored_sheet
from rubric.scoring import key_from_json, sheet_from_json


@service(Right.KEEP_CONSENTS)
def withdraw(store: Store, person: Person, consent_id: str) -> ConsentRecord:
    """Withdraw a consent and remove all photos that rest on it, and every other photo of the same bytes.

    Photo, screen copy, hashes, titles, landmarks, spots and unfinished attempts go; what was handed in keeps its
    answers and measures without a picture. Once more changes nothing.

    Raises
    ------
    NotFound, NotAllowed
    StorageFault
        Also where the use has ended but a file could not be deleted yet; the next opening tries again.
    """
    with store.writing() as session:
        consent = own_consent(session, person, consent_id)
        if consent.withdrawn_on is None:
            consent.withdrawn_on = store.today()
        names = [name for photo in _photos_under(session, consent) for name in _end_use(store, session, photo)]
        session.flush()
        record = record_of(consent)
    _delete(store, names)
    return record


@service(Right.ADD_PHOTO)
def remove_photo(store: Store, person: Person, photo_id: str) -> None:
    """Remove one of the person's photos in the same way; its consent stays on record.

    Raises
    ------
    NotFound, NotAllowed, StorageFault
        As `withdraw`.
    """
    with store.writing() as session:
        names = _end_use(store, session, own_photo(session, person, photo_id))
    _delete(store, names)


def _photos_under(session: Session, consent: ConsentRow) -> list[PhotoRow]:
    hashes = select(PhotoRow.sha256).where(PhotoRow.consent_id == consent.id, PhotoRow.removed_at.is_(None))
    found = select(PhotoRow).where(
        PhotoRow.removed_at.is_(None),
        PhotoRow.owner_id.is_not(None),
        or_(PhotoRow.consent_id == consent.id, PhotoRow.sha256.in_(hashes)),
    )
    return list(session.scalars(found))


def _end_use(store: Store, session: Session, photo: PhotoRow) -> list[str]:
    """Take the photo and all coordinates out of the records; returns the names of the files to delete."""
    names = [stored.name for stored in files_of(photo)]
    for attempt in session.scalars(select(AttemptRow).where(AttemptRow.photo_id == photo.id)):
        if attempt.handed_in_at is None:
            session.delete(attempt)
            continue
        attempt.points.clear()
        for sheet in attempt.sheets:
            sheet.answers = _sheet_without_spots(sheet.answers)
    if photo.key is not None:
        photo.key.landmarks = None
        photo.key.answers = _key_without_spots(photo.key.answers)
    photo.title = photo.width = photo.height = None
    photo.file_name = photo.sha256 = photo.screen_file_name = photo.screen_sha256 = None
    photo.removed_at = store.now()
    return names


def _sheet_without_spots(stored: Json) -> Json:
    sheet = sheet_from_json(stored)
    answers = {item: replace(answer, spot=None) for item, answer in sheet.answers.items()}
    return stored_sheet(replace(sheet, answers=answers))


def _key_without_spots(stored: Json) -> Json:
    key = key_from_json(stored)
    answers = {item: replace(answer, spot=None) for item, answer in key.answers.items()}
    return stored_key(replace(key, answers=answers))


def _delete(store: Store, names: list[str]) -> None:
    failed = store.files.remove(names)
    store.forget_deleted()
    if failed:
        raise StorageFault(
            f"The photo is no longer used, but {failed} of its files could not be deleted yet; "
            "close other programs that show them and start this one again."
        )
