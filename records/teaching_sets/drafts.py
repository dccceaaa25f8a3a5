"""Building a draft: which photos, in which order, how hard, with which notes.

Teaching sets are the school's: every educator may go on with any draft, and revisions keep two windows apart. A photo
that only its owner may see enters a set through its owner.
"""

# Every service takes the acting person; the right is checked at its door.
# ruff: noqa: ARG001

import secrets
from collections.abc import Sequence

from sqlalchemy.orm import Session

from records.access import visible_photo
from records.errors import InvalidRecord
from records.identity.people import Person
from records.models import SetPhotoRow, SetRow, VersionRow
from records.rights import Right, service
from records.store import Store
from records.teaching_sets.rows import checked_note, draft_to_change, place_of, set_row
from records.teaching_sets.values import (
    DEFAULT_DIFFICULTY,
    SetRecord,
    State,
    VersionRecord,
    is_removed,
    places,
    record_of,
    set_record,
)
from records.wording import required_text

MOST_PHOTOS = 200


@service(Right.BUILD_SET)
def new_set(store: Store, person: Person, title: str) -> SetRecord:
    """A set with an empty draft, version 1. Raises InvalidRecord."""
    named = required_text("the title of the set", title)
    with store.writing() as session:
        row = SetRow(id=secrets.token_hex(16), owner_id=person.id, title=named, made_at=store.now(), versions=[])
        session.add(row)
        add_version(store, row)
        session.flush()
        return set_record(row, person.id)


def add_version(store: Store, row: SetRow) -> VersionRow:
    """An empty draft with the next number."""
    version = VersionRow(
        id=secrets.token_hex(16),
        number=max((version.number for version in row.versions), default=0) + 1,
        state=State.DRAFT.value,
        notes="",
        made_at=store.now(),
        revision=1,
        photos=[],
    )
    row.versions.append(version)
    return version


@service(Right.BUILD_SET)
def rename_set(store: Store, person: Person, set_id: str, title: str) -> SetRecord:
    """Give a set another title; it is a label and not part of what publishing freezes."""
    named = required_text("the title of the set", title)
    with store.writing() as session:
        row = set_row(session, set_id, to_change=True)
        row.title = named
        return set_record(row, person.id)


@service(Right.BUILD_SET)
def add_photos(
    store: Store, person: Person, version_id: str, photo_ids: Sequence[str], *, expected_revision: int
) -> VersionRecord:
    """Put photos at the end of a draft; those that are in it already stay where they are.

    Raises
    ------
    NotFound, NotAllowed, ConsentWithdrawn
        For a photo that is not there or not within the person's reach; then none is added.
    InvalidRecord
        For a published version, or more than MOST_PHOTOS photos.
    StaleWrite
    """
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        held = {place.photo_id for place in version.photos}
        last = max((place.position for place in version.photos), default=0)
        for photo_id in dict.fromkeys(photo_ids):
            visible_photo(session, person, photo_id)
            if photo_id not in held:
                last += 1
                version.photos.append(new_place(photo_id, last))
        if len(version.photos) > MOST_PHOTOS:
            raise InvalidRecord(f"A teaching set holds at most {MOST_PHOTOS} photos, got {len(version.photos)}.")
        return _saved(store, session, version)


def new_place(photo_id: str, position: int, difficulty: int = DEFAULT_DIFFICULTY, note: str = "") -> SetPhotoRow:
    """A place that holds no frozen key yet."""
    return SetPhotoRow(photo_id=photo_id, position=position, difficulty=difficulty, note=note)


@service(Right.BUILD_SET)
def remove_photo(
    store: Store, person: Person, version_id: str, photo_id: str, *, expected_revision: int
) -> VersionRecord:
    """Take a photo out of a draft; the photo itself stays. Raises as `set_note`."""
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        version.photos.remove(place_of(version, photo_id))
        for position, place in enumerate(places(version), start=1):
            place.position = position
        return _saved(store, session, version)


@service(Right.BUILD_SET)
def reorder(
    store: Store, person: Person, version_id: str, photo_ids: Sequence[str], *, expected_revision: int
) -> VersionRecord:
    """Bring the photos of a draft into this order, which names each of them once; removed ones go to the end.

    Raises
    ------
    InvalidRecord
        For an order that leaves one out, or names one twice or one that is not in the set.
    NotFound, StaleWrite
    """
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        there = {place.photo_id: place for place in version.photos if not is_removed(place)}
        if sorted(photo_ids) != sorted(there):
            raise InvalidRecord(f"The new order must name each of the {len(there)} photos once, got {len(photo_ids)}.")
        gone = [place for place in places(version) if is_removed(place)]
        for position, place in enumerate([*(there[photo_id] for photo_id in photo_ids), *gone], start=1):
            place.position = position
        return _saved(store, session, version)


@service(Right.BUILD_SET)
def set_difficulty(
    store: Store, person: Person, version_id: str, photo_id: str, difficulty: int, *, expected_revision: int
) -> VersionRecord:
    """Say how hard a photo is: 1 plain, 2, 3 hard. Raises as `set_note`."""
    if difficulty not in (1, 2, 3):
        raise InvalidRecord(f"Difficulty is 1, 2 or 3, got {difficulty}.")
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        place_of(version, photo_id).difficulty = difficulty
        return _saved(store, session, version)


@service(Right.BUILD_SET)
def set_note(
    store: Store, person: Person, version_id: str, photo_id: str, note: str, *, expected_revision: int
) -> VersionRecord:
    """Write a note on a photo, for whoever teaches with it; students do not see it.

    Raises
    ------
    NotFound, StaleWrite
    InvalidRecord
        For a published version or an overlong note.
    """
    text = checked_note("The note", note)
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        place_of(version, photo_id).note = text
        return _saved(store, session, version)


@service(Right.BUILD_SET)
def set_notes(store: Store, person: Person, version_id: str, notes: str, *, expected_revision: int) -> VersionRecord:
    """Write the notes on the whole set. Raises as `set_note`."""
    text = checked_note("The notes", notes)
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        version.notes = text
        return _saved(store, session, version)


@service(Right.BUILD_SET)
def discard_draft(store: Store, person: Person, version_id: str, *, expected_revision: int) -> None:
    """Throw a draft away, and its set where it has no other version; the photos stay. Raises as `set_note`."""
    with store.writing() as session:
        version = draft_to_change(session, version_id, expected_revision)
        parent = version.set
        alone = len(parent.versions) == 1
        session.delete(version)
        session.flush()
        if alone:
            session.expire(parent)
            session.delete(parent)


def _saved(store: Store, session: Session, version: VersionRow) -> VersionRecord:
    session.flush()
    for place in version.photos:
        session.refresh(place, ["photo"])
    return record_of(store, session, version)
