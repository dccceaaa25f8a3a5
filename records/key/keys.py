"""Reference keys: hidden from whoever practises until they have handed in, and in class work until its rule says so.

In class work the key is the one that publishing froze in the set, whatever became of the photo's own key since.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from records.access import own_attempt, own_photo
from records.errors import KeyHidden, NotFound
from records.identity.people import Person
from records.key.key_rule import hidden_because
from records.models import AssignmentRow, AttemptRow, KeyRow, SetPhotoRow
from records.rights import Right, service
from records.storage.stored_json import stored_key, stored_landmarks
from records.store import Store
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
        Before it was handed in, and in class work before its rule shows the key; says when that is.
    NotFound
        Where there is no such attempt, or its photo has no key.
    NotAllowed
        Where the attempt is someone else's.
    """
    with store.reading() as session:
        attempt = own_attempt(session, person, attempt_id)
        hidden = hidden_because(store, session, attempt)
        if hidden is not None:
            raise KeyHidden(hidden)
        return key_of(session, attempt)


@service(Right.PRACTISE)
def key_waits(store: Store, person: Person, attempt_id: str) -> str | None:
    """Why the key to an attempt is not shown yet, one sentence that says when it is; None where `key_for` gives it.

    Raises
    ------
    NotFound, NotAllowed
    """
    with store.reading() as session:
        return hidden_because(store, session, own_attempt(session, person, attempt_id))


def key_of(session: Session, attempt: AttemptRow) -> KeyRecord:
    """The key that an attempt is compared with: the frozen one in class work, else the photo's own. Raises NotFound."""
    if attempt.assignment_id is None:
        row = session.get(KeyRow, attempt.photo_id)
        if row is None:
            raise NotFound("There is no reference key for this photo yet.")
        return _record_of(row)
    work = session.get_one(AssignmentRow, attempt.assignment_id)
    place = session.get(SetPhotoRow, (work.version_id, attempt.photo_id))
    if place is None:
        raise NotFound("There is no reference key for this photo in the set.")
    return frozen_key_of(place)


def frozen_key_of(place: SetPhotoRow) -> KeyRecord:
    """The key as publishing froze it. Raises NotFound where there is none."""
    if place.answers is None or place.version.published_at is None:
        raise NotFound("There is no reference key for this photo in the set.")
    return KeyRecord(
        key=key_from_json(place.answers),
        landmarks=None if place.landmarks is None else landmarks_from_json(place.landmarks),
        revision=place.version.number,
        set_at=place.version.published_at,
    )


def _record_of(row: KeyRow) -> KeyRecord:
    return KeyRecord(
        key=key_from_json(row.answers),
        landmarks=None if row.landmarks is None else landmarks_from_json(row.landmarks),
        revision=row.revision,
        set_at=row.set_at,
    )
