"""The seal of a published version: one hash over all that publishing froze.

It holds no ids and no titles, so the same set carries the same seal on another machine. Once a photo was removed,
its hash is gone and the seal can no longer be checked.
"""

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from records.models import SetPhotoRow, VersionRow
from records.teaching_sets.values import is_removed, places


def canonical(value: object) -> bytes:
    """JSON with one way to write each value: keys in order, no spaces, plain ASCII, no NaN.

    Examples
    --------
    >>> canonical({"b": 1, "a": [2.5, None]})
    b'{"a":[2.5,null],"b":1}'
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False).encode("ascii")


def seal_of(version: VersionRow) -> str | None:
    """SHA-256, 64 hexadecimal digits, of what a version holds now; None where a photo was removed."""
    rows = places(version)
    if any(is_removed(row) for row in rows):
        return None
    return seal(version.notes, version.checklist_version or "", [_sealed(row) for row in rows])


def seal(notes: str, checklist_version: str, photos: Sequence[dict[str, Any]]) -> str:
    """SHA-256 over the canonical form of these parts, photos in order."""
    whole = {"notes": notes, "checklist_version": checklist_version, "photos": list(photos)}
    return hashlib.sha256(canonical(whole)).hexdigest()


def sealed_photo(
    *, sha256: str, width: int, height: int, difficulty: int, note: str, answers: Any, landmarks: Any
) -> dict[str, Any]:
    """What the seal covers of one photo: hash and size of the picture, the key, and what the educator said of it."""
    return {
        "sha256": sha256,
        "width": width,
        "height": height,
        "difficulty": difficulty,
        "note": note,
        "answers": answers,
        "landmarks": landmarks,
    }


def _sealed(row: SetPhotoRow) -> dict[str, Any]:
    return sealed_photo(
        sha256=row.photo.sha256 or "",
        width=row.photo.width or 0,
        height=row.photo.height or 0,
        difficulty=row.difficulty,
        note=row.note,
        answers=row.answers,
        landmarks=row.landmarks,
    )
