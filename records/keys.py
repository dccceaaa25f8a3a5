"""Reference keys: hidden from whoever practises until they have handed in."""

from dataclasses import dataclass
from datetime import datetime

from records.people import Person
from records.store import Store
from rubric.answers import ReferenceKey
from vision.landmarks import LandmarkSet


@dataclass(frozen=True, kw_only=True)
class KeyRecord:
    """A reference key; `landmarks` is None once the photo is gone, `revision` counts from 1."""

    key: ReferenceKey
    landmarks: LandmarkSet | None
    revision: int
    set_at: datetime


def set_key(store: Store, person: Person, photo_id: str, key: ReferenceKey, landmarks: LandmarkSet) -> KeyRecord:
    """Set or replace the key of one of the person's own photos. Raises NotFound, NotAllowed."""
    raise NotImplementedError


def key_for(store: Store, person: Person, attempt_id: str) -> KeyRecord:
    """The key of the photo of an attempt of this person that was handed in. Raises KeyHidden before, NotFound without a key."""
    raise NotImplementedError
