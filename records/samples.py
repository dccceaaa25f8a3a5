"""The doll photos that ship with the program."""

from records.photos import PhotoRecord
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
    """Have this sample and its key on record; a second call with the same changes nothing."""
    raise NotImplementedError
