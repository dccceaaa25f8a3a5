"""The text files of a bundle: written from its contents, and read back only where they keep to every rule."""

import json
import re
from collections.abc import Mapping
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from jsonschema import Draft202012Validator  # type: ignore[import-untyped]

from records.bundles.form import (
    FORMAT,
    FORMAT_VERSION,
    KEYS,
    MANIFEST,
    POINTS,
    BundledPhoto,
    CarriedConsent,
    Contents,
    LeftOut,
    photo_name,
)
from records.bundles.strict_json import plain_json, strict_json
from records.errors import BundleRefused, RecordsError
from records.teaching_sets.rows import checked_note
from records.wording import required_text
from rubric.errors import RubricError
from rubric.scoring import key_from_json
from vision.coco import coco_from_landmarks, landmarks_from_coco
from vision.errors import VisionError
from vision.landmark_files import landmarks_from_json, landmarks_to_json

_LISTS = ("images", "annotations")


def manifest_bytes(contents: Contents) -> bytes:
    """manifest.json."""
    photos = [
        {
            "file": photo.name,
            "sha256": photo.sha256,
            "width": photo.width,
            "height": photo.height,
            "origin_id": photo.origin_id,
            "title": photo.title,
            "difficulty": photo.difficulty,
            "note": photo.note,
            "consent": _consent_to_json(photo.consent),
        }
        for photo in contents.photos
    ]
    return plain_json(
        {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "title": contents.title,
            "number": contents.number,
            "notes": contents.notes,
            "checklist_version": contents.checklist_version,
            "published_on": contents.published_on.isoformat(),
            "seal": contents.seal,
            "photos": photos,
            "left_out": [{"position": left.position, "why": left.why} for left in contents.left_out],
        }
    )


def points_bytes(contents: Contents) -> bytes:
    """points.json: one COCO keypoint file of all pictures."""
    whole: dict[str, Any] = {"images": [], "annotations": []}
    for number, photo in enumerate(contents.photos, start=1):
        one = coco_from_landmarks(
            landmarks_from_json(photo.landmarks), file_name=photo.name, width=photo.width, height=photo.height
        )
        whole["images"].append({**one["images"][0], "id": number})
        whole["annotations"].append({**one["annotations"][0], "id": number, "image_id": number})
        whole["categories"] = one["categories"]
    return plain_json(whole)


def keys_bytes(contents: Contents) -> bytes:
    """keys.json."""
    return plain_json({"keys": {photo.name: photo.answers for photo in contents.photos}})


def read_contents(texts: Mapping[str, bytes]) -> Contents:
    """What the text files of a bundle say.

    Raises
    ------
    BundleRefused
        In one sentence, for the first rule that is broken.
    """
    manifest = _valid_manifest(strict_json(texts[MANIFEST], MANIFEST))
    names = [photo["file"] for photo in manifest["photos"]]
    if names != [photo_name(place) for place in range(1, len(names) + 1)]:
        raise BundleRefused("The bundle's photos are not numbered one after the other from 001.")
    keys = _keys(strict_json(texts[KEYS], KEYS), names)
    points = _points(strict_json(texts[POINTS], POINTS), manifest["photos"])
    try:
        return Contents(
            title=required_text("the title of the set", manifest["title"]),
            number=manifest["number"],
            notes=checked_note("The notes", manifest["notes"]),
            checklist_version=required_text("the version of the checklist", manifest["checklist_version"]),
            published_on=_day(manifest["published_on"]),
            seal=manifest["seal"],
            photos=tuple(_photo(said, keys[said["file"]], points[said["file"]]) for said in manifest["photos"]),
            left_out=tuple(LeftOut(**left) for left in manifest["left_out"]),
        )
    except BundleRefused:
        raise
    except RecordsError as fault:
        raise BundleRefused(f"A text in the bundle's {MANIFEST} cannot be kept: {_inside(fault)}.") from fault


@cache
def _validator() -> Draft202012Validator:
    schema = json.loads(files("records.bundles").joinpath("manifest.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def _valid_manifest(value: object) -> dict[str, Any]:
    if not isinstance(value, dict) or value.get("format") != FORMAT:
        raise BundleRefused("This zip is no teaching set of this program.")
    version = value.get("format_version")
    if isinstance(version, bool) or not isinstance(version, int) or version != FORMAT_VERSION:
        raise BundleRefused(
            f"This bundle has form {str(version)[:20]!r}, and this version of the program reads form {FORMAT_VERSION}."
        )
    fault = min(_validator().iter_errors(value), key=lambda found: list(map(str, found.absolute_path)), default=None)
    if fault is not None:
        where = "/".join(str(step)[:40] for step in fault.absolute_path) or "the top"
        raise BundleRefused(f"The bundle's {MANIFEST} breaks its schema at {where} (rule: {fault.validator}).")
    return value


def _photo(said: Mapping[str, Any], answers: Mapping[str, Any], landmarks: Mapping[str, Any]) -> BundledPhoto:
    return BundledPhoto(
        name=said["file"],
        origin_id=said["origin_id"],
        title=required_text("the title of the photo", said["title"]),
        difficulty=said["difficulty"],
        note=checked_note("The note", said["note"]),
        width=said["width"],
        height=said["height"],
        sha256=said["sha256"],
        consent=_consent(said["consent"]),
        answers=answers,
        landmarks=landmarks,
    )


def _consent_to_json(consent: CarriedConsent) -> dict[str, Any]:
    return {
        "record": consent.record,
        "kind": consent.kind,
        "shown": consent.shown,
        "given_by": consent.given_by,
        "authority": consent.authority,
        "scopes": list(consent.scopes),
        "faces_covered": consent.faces_covered,
        "given_on": consent.given_on.isoformat(),
        "expires_on": None if consent.expires_on is None else consent.expires_on.isoformat(),
        "form_version": consent.form_version,
    }


def _consent(said: Mapping[str, Any]) -> CarriedConsent:
    given, expires = _day(said["given_on"]), None if said["expires_on"] is None else _day(said["expires_on"])
    if expires is not None and expires < given:
        raise BundleRefused("A consent in the bundle ends before it begins.")
    return CarriedConsent(
        record=said["record"],
        kind=said["kind"],
        shown=required_text("the label of who is shown", said["shown"]),
        given_by=required_text("who gave the consent", said["given_by"]),
        authority=None if said["authority"] is None else required_text("who has authority", said["authority"]),
        scopes=tuple(sorted(said["scopes"])),
        faces_covered=said["faces_covered"],
        given_on=given,
        expires_on=expires,
        form_version=required_text("the version of the consent form", said["form_version"]),
    )


def _keys(value: object, names: list[str]) -> dict[str, Any]:
    keys = value.get("keys") if isinstance(value, dict) and set(value) == {"keys"} else None
    if not isinstance(keys, dict) or set(keys) != set(names):
        raise BundleRefused(f"The bundle's {KEYS} does not hold exactly one key for each photo.")
    for name, said in keys.items():
        try:
            key = key_from_json(said)
        except RubricError as fault:
            raise BundleRefused(f"The bundle's key of {name} cannot be read: {_inside(fault)}.") from fault
        if not key.answers:
            raise BundleRefused(f"The bundle's key of {name} answers no sign.")
    return keys


def _points(value: object, photos: list[dict[str, Any]]) -> dict[str, Any]:
    """Photo name -> landmarks as stored; pictures and annotations must stand in the manifest's order."""
    if not isinstance(value, dict) or set(value) != {*_LISTS, "categories"}:
        raise BundleRefused(f"The bundle's {POINTS} is not made of images, annotations and categories.")
    if any(not isinstance(value[part], list) or len(value[part]) != len(photos) for part in _LISTS):
        raise BundleRefused(f"The bundle's {POINTS} does not hold exactly one annotation for each photo.")
    found = {}
    for number, photo in enumerate(photos, start=1):
        image, annotation = (value[part][number - 1] for part in _LISTS)
        expected = {"id": number, "file_name": photo["file"], "width": photo["width"], "height": photo["height"]}
        if image != expected or not isinstance(annotation, dict) or annotation.get("image_id") != number:
            raise BundleRefused(f"The bundle's {POINTS} does not fit {photo['file']} of its {MANIFEST}.")
        try:
            read = landmarks_from_coco({**value, "images": [image], "annotations": [annotation]})
        except VisionError as fault:
            raise BundleRefused(f"The bundle's points of {photo['file']} cannot be read: {_inside(fault)}.") from fault
        found[photo["file"]] = landmarks_to_json(read)
    return found


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as fault:
        raise BundleRefused(f"The bundle names a day that does not exist: {text}.") from fault


def _inside(fault: Exception) -> str:
    """What another module says, on one line, to stand inside a sentence."""
    said = re.sub(r"\s+", " ", str(fault)).rstrip(".")
    return said if len(said) <= 160 else f"{said[:157]}..."
