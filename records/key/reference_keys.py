"""Writing the reference key of a photo, with a short history of who changed what.

The photo's owner writes it, and every educator once the photo is in a teaching set. Photos that came with the program
keep theirs. The history names signs and points, never their answers or places, so that nothing of it has to go when a
photo goes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import visible_photo
from records.auditing.audit import append
from records.consent.consents import Scope, refusal
from records.errors import NotAllowed, StaleWrite
from records.identity.people import Person, Role, holds
from records.key.keys import put_key
from records.models import KeyRow, PersonRow, PhotoRow
from records.rights import Right, service
from records.storage.stored_json import Json, stored_key, stored_landmarks
from records.store import Store
from rubric.answers import ReferenceKey
from rubric.scoring import key_from_json
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet

#: Changes by one person that follow each other within this time are one line of the history.
ONE_SITTING = timedelta(hours=1)
MOST_LINES = 100


class How(StrEnum):
    """What a change rested on."""

    ALONE = "alone"
    FROM_EXPERTS = "from_experts"


@dataclass(frozen=True, kw_only=True)
class KeyChange:
    """One line of a key's history.

    Parameters
    ----------
    by : str
        The handle of who changed it.
    at : datetime
        UTC; the last change of that sitting.
    how : How
    parts : tuple of str
        What changed: "phase", "view", ids of signs, ids of points, "head_yaw", "body_view", "scale".
    """

    by: str
    at: datetime
    how: How
    parts: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class EditedKey:
    """The key as whoever writes it sees it; without a key the revision is 0. The history is newest first."""

    photo_id: str
    key: ReferenceKey | None
    landmarks: LandmarkSet | None
    revision: int
    set_at: datetime | None
    history: tuple[KeyChange, ...]
    writable: bool


@service(Right.WRITE_KEY)
def key_to_edit(store: Store, person: Person, photo_id: str) -> EditedKey:
    """The reference key of a photo for whoever may write it; educators may read that of a shipped photo too.

    Raises
    ------
    NotFound, NotAllowed, ConsentWithdrawn
    """
    with store.reading() as session:
        photo = visible_photo(session, person, photo_id)
        if not (
            may_write(session, person, photo) or (photo.owner_id is None and holds(session, person.id, Role.EDUCATOR))
        ):
            raise NotAllowed("The reference key of this photo is written by someone else.")
        return _edited(session, person, photo)


@service(Right.WRITE_KEY)
def write_key(
    store: Store,
    person: Person,
    photo_id: str,
    key: ReferenceKey,
    landmarks: LandmarkSet,
    *,
    expected_revision: int,
    how: How = How.ALONE,
) -> EditedKey:
    """Set or replace the reference key.

    Parameters
    ----------
    expected_revision : int
        The revision that the person was looking at; 0 where there was none.
    how : How
        Whether it was put together from the experts' keys.

    Raises
    ------
    StaleWrite
        Where another revision is on record; nothing is changed.
    NotFound, NotAllowed, ConsentRefused, InvalidRecord
    """
    with store.writing() as session:
        photo = visible_photo(session, person, photo_id)
        if not may_write(session, person, photo):
            raise NotAllowed("The reference key of this photo is written by someone else.")
        check_in_use(store, photo, person)
        row = session.get(KeyRow, photo_id, with_for_update={"of": KeyRow})
        if expected_revision != (0 if row is None else row.revision):
            raise StaleWrite(
                "This key was changed in another window in the meantime, so nothing was overwritten; "
                "reload the page to go on from there."
            )
        parts = _changed_parts(row, stored_key(key), stored_landmarks(landmarks))
        row = put_key(store, session, photo_id, key, landmarks)
        if parts or row.history is None:
            row.history = _with_line(store, person, row.history or [], how, parts)
            append(store, session, actor_id=person.id, action="write_key", object_id=photo_id)
        session.flush()
        session.refresh(photo, ["key"])
        return _edited(session, person, photo)


def may_write(session: Session, person: Person, photo: PhotoRow) -> bool:
    """Whether this person may write the reference key of a photo that is within reach."""
    if photo.owner_id is None:
        return False
    # A photo of someone else is within an educator's reach only through a teaching set.
    return photo.owner_id == person.id or holds(session, person.id, Role.EDUCATOR)


def check_in_use(store: Store, photo: PhotoRow, person: Person) -> None:
    """Return only where the consent covers work on the photo today: as own practice, in sets or in a class."""
    uses = [Scope.TEACHING_SETS, Scope.OWN_CLASS] + ([Scope.OWN_PRACTICE] if photo.owner_id == person.id else [])
    classes = frozenset({photo.consent.class_id or ""})
    refused = [refusal(photo.consent, use, store.today(), classes) for use in uses]
    if all(fault is not None for fault in refused):
        raise next(fault for fault in refused if fault is not None)


def _edited(session: Session, person: Person, photo: PhotoRow) -> EditedKey:
    row, lines = photo.key, list((photo.key.history if photo.key else None) or [])
    handles = _handles(session, {line["by"] for line in lines})
    return EditedKey(
        photo_id=photo.id,
        key=None if row is None else key_from_json(row.answers),
        landmarks=None if row is None or row.landmarks is None else landmarks_from_json(row.landmarks),
        revision=0 if row is None else row.revision,
        set_at=None if row is None else row.set_at,
        history=tuple(
            KeyChange(
                by=handles.get(line["by"], "someone"),
                at=datetime.fromisoformat(line["at"]),
                how=How(line["how"]),
                parts=tuple(line["parts"]),
            )
            for line in reversed(lines)
        ),
        writable=may_write(session, person, photo),
    )


def _handles(session: Session, ids: set[str]) -> Mapping[str, str]:
    found = session.execute(select(PersonRow.id, PersonRow.handle).where(PersonRow.id.in_(ids)))
    return {row.id: row.handle for row in found}


def _changed_parts(row: KeyRow | None, answers: Json, landmarks: Json) -> list[str]:
    before: dict[str, Any] = {} if row is None else _parts(row.answers, row.landmarks or {})
    after = _parts(answers, landmarks)
    return [name for name in dict.fromkeys([*after, *before]) if before.get(name) != after.get(name)]


def _parts(answers: Json, landmarks: Json) -> dict[str, Any]:
    """All that a key says, by the names that the history uses."""
    return {
        "phase": answers["phase"],
        "view": answers["view"],
        **answers["answers"],
        **landmarks.get("landmarks", {}),
        "head_yaw": landmarks.get("head_yaw_deg"),
        "body_view": None if landmarks.get("body_view") == "unknown" else landmarks.get("body_view"),
        "scale": landmarks.get("mm_per_pixel"),
    }


def _with_line(store: Store, person: Person, lines: list[Json], how: How, parts: list[str]) -> list[Json]:
    """The history with one more line, or with the last line longer where it is the same sitting."""
    now = store.now()
    last = lines[-1] if lines else None
    if (
        last is not None
        and (last["by"], last["how"]) == (person.id, how.value)
        and now - datetime.fromisoformat(last["at"]) < ONE_SITTING
    ):
        lines, parts = lines[:-1], list(dict.fromkeys([*last["parts"], *parts]))
    return [*lines, {"by": person.id, "at": now.isoformat(), "how": how.value, "parts": parts}][-MOST_LINES:]
