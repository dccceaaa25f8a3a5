"""Finding the row that a service works on, locked and at the revision that the person was looking at."""

from sqlalchemy.orm import Session

from records.errors import InvalidRecord, NotFound, StaleWrite
from records.models import SetPhotoRow, SetRow, VersionRow
from records.teaching_sets.values import State

MAX_NOTE_CHARACTERS = 2000


def version_row(session: Session, version_id: str) -> VersionRow:
    """A version. Raises NotFound."""
    row = session.get(VersionRow, version_id)
    if row is None:
        raise NotFound("There is no such version of a teaching set.")
    return row


def set_row(session: Session, set_id: str, *, to_change: bool = False) -> SetRow:
    """A set, locked against others where it is to change. Raises NotFound."""
    row = session.get(SetRow, set_id, with_for_update={"of": SetRow} if to_change else None)
    if row is None:
        raise NotFound("There is no such teaching set.")
    return row


def draft_to_change(session: Session, version_id: str, expected_revision: int) -> VersionRow:
    """A draft, locked, with its revision counted up. Raises NotFound, InvalidRecord, StaleWrite."""
    row = session.get(VersionRow, version_id, with_for_update={"of": VersionRow})
    if row is None:
        raise NotFound("There is no such version of a teaching set.")
    if row.state != State.DRAFT:
        raise InvalidRecord("This version was published and no longer changes; begin a new draft to go on.")
    if row.revision != expected_revision:
        raise StaleWrite(
            "This teaching set was changed in another window in the meantime, so nothing was overwritten; "
            "reload the page to go on from there."
        )
    row.revision += 1
    return row


def place_of(row: VersionRow, photo_id: str) -> SetPhotoRow:
    """A photo's place in a version. Raises NotFound."""
    for place in row.photos:
        if place.photo_id == photo_id:
            return place
    raise NotFound("This photo is not in the teaching set.")


def checked_note(what: str, text: str) -> str:
    """A longer text that a person typed, without spaces around it. Raises InvalidRecord."""
    stripped = text.strip()
    if len(stripped) > MAX_NOTE_CHARACTERS or not all(c.isprintable() or c == "\n" for c in stripped):
        raise InvalidRecord(f"{what} may have at most {MAX_NOTE_CHARACTERS} plain characters, got {len(stripped)}.")
    return stripped
