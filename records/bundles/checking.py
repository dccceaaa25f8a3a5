"""Checking what a bundle holds: text, pictures and consents, all before anything is stored."""

from datetime import date

from records.bundles.form import MAX_PIXELS, TEXT_FILES, BundledPhoto, Contents
from records.bundles.manifest import read_contents
from records.bundles.opening import OpenBundle
from records.errors import BundleRefused, InvalidRecord
from records.photo.clean_jpeg import size_of_clean_jpeg
from records.teaching_sets.seal import seal, sealed_photo


def checked_contents(bundle: OpenBundle, today: date) -> Contents:
    """All that an opened bundle says, every picture looked at as far as this package can.

    Raises
    ------
    BundleRefused
        In one sentence, for the first rule that is broken.
    """
    contents = read_contents({name: bundle.read(name) for name in TEXT_FILES})
    if [photo.name for photo in contents.photos] != bundle.photo_names:
        raise BundleRefused("The bundle's photos are not those that its manifest.json names.")
    if len({photo.origin_id for photo in contents.photos}) != len(contents.photos):
        raise BundleRefused("The bundle holds one photo twice.")
    said = {photo.consent.record: photo.consent for photo in contents.photos}
    if any(said[photo.consent.record] != photo.consent for photo in contents.photos):
        raise BundleRefused("The bundle says two different things of one consent.")
    for photo in contents.photos:
        _check_days(photo, today)
        check_picture(photo, bundle.read(photo.name))
    if seal_of_contents(contents) != contents.seal:
        raise BundleRefused("The bundle's seal does not fit what is in it.")
    return contents


def check_picture(photo: BundledPhoto, data: bytes) -> None:
    """Whether the bytes are the picture that the bundle speaks of, and nothing but a picture. Raises BundleRefused."""
    try:
        size = size_of_clean_jpeg(data)
    except InvalidRecord as fault:
        raise BundleRefused(f"The bundle's {photo.name} is no clean JPEG, or it holds more than its pixels.") from fault
    if size != (photo.width, photo.height):
        raise BundleRefused(
            f"The bundle's {photo.name} is {size[0]} x {size[1]} pixels, and its manifest says otherwise."
        )
    if photo.width * photo.height > MAX_PIXELS:
        raise BundleRefused(f"The bundle's {photo.name} has more than {MAX_PIXELS // 10**6} million pixels.")


def seal_of_contents(contents: Contents) -> str:
    """The seal over the photos that a bundle holds; that of the version itself where none was left out."""
    return seal(
        contents.notes,
        contents.checklist_version,
        [
            sealed_photo(
                sha256=photo.sha256,
                width=photo.width,
                height=photo.height,
                difficulty=photo.difficulty,
                note=photo.note,
                answers=photo.answers,
                landmarks=photo.landmarks,
            )
            for photo in contents.photos
        ],
    )


def _check_days(photo: BundledPhoto, today: date) -> None:
    consent = photo.consent
    if consent.kind == "person" and today < consent.given_on:
        raise BundleRefused(f"The consent for the bundle's {photo.name} starts on {consent.given_on} only.")
    if consent.expires_on is not None and today > consent.expires_on:
        raise BundleRefused(
            f"The consent for the bundle's {photo.name} ended on {consent.expires_on}; ask for a newer bundle."
        )
