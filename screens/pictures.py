"""Pictures as the program's own routes send them. Each is read through `records`, which asks the consent every time."""

from records.attempt.handing_in import handed_in
from records.identity.people import Person
from records.photo.photos import read_bytes
from screens.data import store
from screens.language import _
from vision.images import encode_jpeg, read_photo, reduced
from vision.measures import measure_all
from vision.overlay import draw_overlay

THUMBNAIL_LONGEST = 560


def screen_jpeg(person: Person, photo_id: str) -> bytes:
    """The copy for the screen, at most 1600 px. Raises RecordsError where it may not be shown."""
    return read_bytes(store(), person, photo_id, "screen")


def thumbnail_jpeg(person: Person, photo_id: str) -> bytes:
    """A small copy for a card, made at each request so that nothing outlives a withdrawal."""
    return encode_jpeg(reduced(read_photo(screen_jpeg(person, photo_id)), THUMBNAIL_LONGEST), quality=85)


def overlay_jpeg(person: Person, attempt_id: str) -> bytes:
    """Photo, points and measures of an attempt that was handed in, as one new picture with words in the language of the request."""
    done = handed_in(store(), person, attempt_id)
    if done.photo_id is None:
        raise KeyError(attempt_id)
    landmarks = done.landmarks[1]
    photo = read_photo(read_bytes(store(), person, done.photo_id, "full"))
    return encode_jpeg(draw_overlay(photo, landmarks, measure_all(landmarks), say=_), quality=92)
