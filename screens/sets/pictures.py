"""Pictures of teaching sets: small copies for lists, and the uploads of a batch that nobody has kept yet.

Uploads wait in memory only, bound to whoever uploaded them, few and for two hours.
"""

import secrets
import threading
import time
from dataclasses import dataclass

from records.consent.consents import Scope
from records.errors import ConsentRefused
from records.identity.people import Person
from records.photo.photos import PhotoKind, read_bytes
from screens.data import store
from vision.images import encode_jpeg, read_photo, reduced

THUMBNAIL_LONGEST = 400
SECONDS_KEPT = 2 * 3600
MOST_BYTES = 96 * 1024 * 1024


def set_photo(person: Person, photo_id: str, kind: PhotoKind = "screen") -> bytes:
    """A photo for whoever works on a set, by the first use that its consent covers for them. Raises RecordsError."""
    for use in (Scope.TEACHING_SETS, Scope.OWN_PRACTICE):
        try:
            return read_bytes(store(), person, photo_id, kind, use=use)
        except ConsentRefused:
            continue
    return read_bytes(store(), person, photo_id, kind, use=Scope.OWN_CLASS)


def set_thumbnail(person: Person, photo_id: str) -> bytes:
    """A small copy, made at each request so that nothing outlives a withdrawal."""
    return encode_jpeg(reduced(read_photo(set_photo(person, photo_id)), THUMBNAIL_LONGEST), quality=82)


@dataclass(frozen=True)
class _Waiting:
    person_id: str
    since: float
    jpeg: bytes


_lock = threading.Lock()
_waiting: dict[str, _Waiting] = {}


def keep(person: Person, jpeg: bytes) -> str:
    """Hold a reduced picture of an upload; returns the token of its address. The oldest go where room runs out."""
    token, now = secrets.token_urlsafe(24), time.monotonic()
    with _lock:
        for old in [key for key, one in _waiting.items() if now - one.since > SECONDS_KEPT]:
            del _waiting[old]
        _waiting[token] = _Waiting(person.id, now, jpeg)
        while sum(len(one.jpeg) for one in _waiting.values()) > MOST_BYTES and len(_waiting) > 1:
            del _waiting[next(iter(_waiting))]
    return token


def waiting(person: Person, token: str) -> bytes:
    """The picture of that token, for whoever uploaded it. Raises KeyError."""
    with _lock:
        one = _waiting[token]
    if one.person_id != person.id or time.monotonic() - one.since > SECONDS_KEPT:
        raise KeyError(token)
    return one.jpeg


def forget(*tokens: str) -> None:
    """Drop pictures; unknown tokens are fine."""
    with _lock:
        for token in tokens:
            _waiting.pop(token, None)
