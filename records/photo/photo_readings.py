"""What software read off a photo: points that a detector proposes, and a hash of its look to find duplicates by.

Both hang on the photo and go with it. Proposals never enter a key or an attempt by themselves.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from sqlalchemy import select

from records.access import own_photo, visible_photo
from records.errors import InvalidRecord
from records.identity.people import Person
from records.models import PhotoRow
from records.rights import Right, service
from records.storage.stored_json import stored_landmarks
from records.store import Store
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet

MOST_HASH_CHARACTERS = 400


@dataclass(frozen=True, kw_only=True)
class ProposedPoints:
    """What a detector proposes; `at` is None while none has looked, and no points means that it found none."""

    landmarks: LandmarkSet
    at: datetime | None


@service(Right.ADD_PHOTO)
def keep_proposed_points(store: Store, person: Person, photo_id: str, landmarks: LandmarkSet) -> None:
    """Keep what a detector found in one of the person's own photos. Raises NotFound, NotAllowed, ConsentWithdrawn."""
    points = stored_landmarks(landmarks)
    with store.writing() as session:
        row = own_photo(session, person, photo_id)
        row.proposed_landmarks, row.proposed_at = points, store.now()


@service(Right.WRITE_KEY)
def proposed_points(store: Store, person: Person, photo_id: str) -> ProposedPoints:
    """What was proposed for a photo. Raises NotFound, NotAllowed, ConsentWithdrawn."""
    with store.reading() as session:
        row = visible_photo(session, person, photo_id)
        found = LandmarkSet() if row.proposed_landmarks is None else landmarks_from_json(row.proposed_landmarks)
        return ProposedPoints(landmarks=found, at=row.proposed_at)


@service(Right.ADD_PHOTO)
def photos_to_read(store: Store, person: Person) -> tuple[str, ...]:
    """Ids of the person's own photos at which no detector has looked yet, oldest first."""
    waiting = (
        select(PhotoRow.id)
        .where(PhotoRow.owner_id == person.id, PhotoRow.removed_at.is_(None), PhotoRow.proposed_at.is_(None))
        .order_by(PhotoRow.added_at, PhotoRow.id)
    )
    with store.reading() as session:
        return tuple(session.scalars(waiting))


@service(Right.ADD_PHOTO)
def keep_look_hash(store: Store, person: Person, photo_id: str, look_hash: str) -> None:
    """Keep the hash of one of the person's own photos. Raises InvalidRecord, NotFound, NotAllowed."""
    if not 0 < len(look_hash) <= MOST_HASH_CHARACTERS or not look_hash.isascii():
        raise InvalidRecord(f"A hash has 1 to {MOST_HASH_CHARACTERS} plain characters, got {len(look_hash)}.")
    with store.writing() as session:
        own_photo(session, person, photo_id).look_hash = look_hash


@service(Right.ADD_PHOTO)
def look_hashes(store: Store, person: Person) -> Mapping[str, str]:
    """Photo id -> hash, of all the person's own photos that have one."""
    kept = select(PhotoRow.id, PhotoRow.look_hash).where(
        PhotoRow.owner_id == person.id, PhotoRow.removed_at.is_(None), PhotoRow.look_hash.is_not(None)
    )
    with store.reading() as session:
        return MappingProxyType({photo_id: look_hash for photo_id, look_hash in session.execute(kept) if look_hash})
