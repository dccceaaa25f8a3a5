"""Reference keys: hidden from whoever practises until they have handed in."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from records.access import own_attempt, own_photo
from records.errors import KeyHidden, NotFound
from records.models import KeyRow
from records.people import Person
from records.rights import Right, service
from records.store import Store
from records.stored_json import stored_key, stored_landmarks
from rubric.answers import ReferenceKey
from rubric.scoring import key_from_json
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet


@dataclass(frozen=True, kw_only=True)
class KeyRecord:
    """A reference key; `landmarks` is None once the photo is gone, `revision` counts from 1."""

    key: ReferenceKey
    landmarks: LandmarkSet | None
    revision: int
    set_at: datetime


@service(Right.WRITE_KEY)
def set_key(store: Store, person: Person, photo_id: str, key: ReferenceKey, landmarks: LandmarkSet) -> KeyRecord:
    """Set or replace the key of one of the person's own photos. Raises NotFound, NotAllowed, ConsentWithdrawn."""
    with store.writing() as session:
        own_photo(session, person, photo_id)
        return _record_of(put_key(store, session, photo_id, key, landmarks))


def put_key(store: Store, session: Session, photo_id: str, key: ReferenceKey, landmarks: LandmarkSet) -> KeyRow:
    """Set or replace a key; one that says the same already keeps its revision."""
    answers, points = stored_key(key), stored_landmarks(landmarks)
    row = session.get(KeyRow, photo_id)
    if row is None:
        row = KeyRow(photo_id=photo_id, answers=answers, landmarks=points, revision=1, set_at=store.now())
        session.add(row)
    elif (row.answers, row.landmarks) != (answers, points):
        row.answers, row.landmarks = answers, points
        row.revision, row.set_at = row.revision + 1, store.now()
    return row


@service(Right.PRACTISE)
def key_for(store: Store, person: Person, attempt_id: str) -> KeyRecord:
    """The key to an attempt of this person that was handed in.

    Raises
    ------
    KeyHidden
        Before it was handed in.
    NotFound
        Where there is no such attempt, or its photo has no key.
    NotAllowed
        Where the attempt is someone else's.
    """
    with store.reading() as session:
        attempt = own_attempt(session, person, attempt_id)
        if attempt.handed_in_at is None:
            raise KeyHidden("The reference key is shown once you have handed in.")
        row = session.get(KeyRow, attempt.photo_id)
        if row is None:
            raise NotFound("There is no reference key for this photo yet.")
        return _record_of(row)


def _record_of(row: KeyRow) -> KeyRecord:
    return KeyRecord(
        key=key_from_json(row.answers),
        landmarks=None if row.landmarks is None else landmarks_from_json(row.landmarks),
        revision=row.revision,
        set_at=row.set_at,
    )
