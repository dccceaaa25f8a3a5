"""The form of a bundle: a zip of a teaching set that another data folder can take in. The form is this program's own.

manifest.json   what the set is, its photos in order, under which consent each travels, and which were left out;
                described by `manifest.schema.json`
points.json     the points of all photos as COCO keypoints
keys.json       the reference answers, by picture
photos/001.jpg  the pictures, as they are stored here
README.txt      what this is, for whoever opens the zip by hand
SHA256SUMS      the hash of every other file, as `sha256sum -c` reads it

Files lie in the zip unpacked and in this order, with fixed dates, one directly after the other, so the same set gives
the same bytes, and nothing can grow on reading.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

FORMAT = "latch-and-line-teaching-set"
FORMAT_VERSION = 1

MANIFEST, POINTS, KEYS, README, SUMS = "manifest.json", "points.json", "keys.json", "README.txt", "SHA256SUMS"
TEXT_FILES = (MANIFEST, POINTS, KEYS, README)

#: The zip as a whole, one picture, one text file: 300 MB, 60 MB, 8 MB.
MAX_BUNDLE_BYTES = 300 * 1024 * 1024
MAX_PHOTO_BYTES = 60 * 1024 * 1024
MAX_TEXT_BYTES = 8 * 1024 * 1024
MAX_PIXELS = 40_000_000
MOST_PHOTOS = 200
PHOTO_NAME = re.compile(r"photos/(?:00[1-9]|0[1-9][0-9]|1[0-9][0-9]|200)\.jpg")

README_TEXT = """\
A teaching set for practising to see how a baby lies and holds the breast, made with Latch and Line.

Take it in with the program: Teaching sets, "Take in a set". Use it only for what the people shown agreed to;
manifest.json says it for each photo. When whoever gave you this tells you that a consent was withdrawn, remove
the photo, and destroy this file and every copy of it.

The set trains observation and diagnoses nothing. A photo is one instant: it shows no pain, swallowing, breathing
or weight. Worried about a real baby or mother: stop, and get help now from a lactation professional, midwife or
doctor. Local guidance and licensed practice come first.
"""


@dataclass(frozen=True, kw_only=True)
class CarriedConsent:
    """What a bundle says of the consent under which photos travel: labels and relations, never names.

    `record` tells which photos rest on one and the same consent.
    """

    record: str
    kind: str
    shown: str
    given_by: str
    authority: str | None
    scopes: tuple[str, ...]
    faces_covered: bool
    given_on: date
    expires_on: date | None
    form_version: str


@dataclass(frozen=True, kw_only=True)
class BundledPhoto:
    """A photo of a bundle with all but its pixels; `answers` and `landmarks` are JSON values as they are stored."""

    name: str
    origin_id: str
    title: str
    difficulty: int
    note: str
    width: int
    height: int
    sha256: str
    consent: CarriedConsent
    answers: Mapping[str, Any]
    landmarks: Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """A photo of the set that did not travel: its place in the set, and why, one sentence."""

    position: int
    why: str


@dataclass(frozen=True, kw_only=True)
class Contents:
    """All that a bundle says; `seal` covers the photos that are in it."""

    title: str
    number: int
    notes: str
    checklist_version: str
    published_on: date
    seal: str
    photos: tuple[BundledPhoto, ...]
    left_out: tuple[LeftOut, ...]


def photo_name(place: int) -> str:
    """The name of the picture at that place, from 1.

    Examples
    --------
    >>> photo_name(7)
    'photos/007.jpg'
    """
    return f"photos/{place:03d}.jpg"
