"""The doll photos that ship with the program."""

import hashlib

from sqlalchemy import select

from records.consent import consents
from records.consent.consents import DollDeclaration
from records.key.keys import put_key
from records.models import PhotoRow
from records.photo.photos import PhotoRecord, record_of
from records.photo.pictures import Picture, files_of, store_picture
from records.store import Store
from rubric.answers import ReferenceKey
from vision.landmarks import LandmarkSet


def ensure_sample(
    store: Store,
    *,
    sample_id: str,
    jpeg: bytes,
    screen_jpeg: bytes,
    width: int,
    height: int,
    title: str,
    key: ReferenceKey,
    key_landmarks: LandmarkSet,
) -> PhotoRecord:
    """Have this sample and its key on record; a second call with the same changes nothing.

    A sample whose picture changed with a new version of the program is a new photo: the old one keeps its attempts
    and is no longer offered. A file that got lost is written again.

    Parameters
    ----------
    store : Store
    sample_id : str
        Names the sample across versions of the program.
    jpeg, screen_jpeg, width, height, title
        As in `records.photo.photos.add_photo`.
    key : ReferenceKey
    key_landmarks : LandmarkSet
        The true points, pixels of the full photo.

    Raises
    ------
    InvalidRecord, StorageFault
    """
    picture = Picture(jpeg=jpeg, screen_jpeg=screen_jpeg, width=width, height=height, title=title)
    written: list[str] = []
    try:
        with store.writing() as session:
            row = session.scalar(select(PhotoRow).where(PhotoRow.sample_id == sample_id))
            if row is not None and _shows(row, picture):
                row.title = picture.title.strip()
                _restore_files(store, row, picture)
            else:
                if row is not None:
                    row.sample_id = None
                    session.flush()
                doll = consents.new_row(store, None, DollDeclaration(confirmed=True, shown=picture.title))
                row = store_picture(store, session, picture, doll, written)
                row.sample_id = sample_id
            session.flush()
            put_key(store, session, row.id, key, key_landmarks)
            session.flush()
            session.refresh(row, ["key"])
            return record_of(store, row)
    except BaseException:
        store.files.remove(written)
        raise


def _shows(row: PhotoRow, picture: Picture) -> bool:
    hashes = tuple(hashlib.sha256(data).hexdigest() for data in (picture.jpeg, picture.screen_jpeg))
    return (row.sha256, row.screen_sha256) == hashes


def _restore_files(store: Store, row: PhotoRow, picture: Picture) -> None:
    for stored, data in zip(files_of(row), (picture.jpeg, picture.screen_jpeg), strict=True):
        if not store.files.has(stored.name):
            store.files.write(data, stored.name)
