"""A key as one browser tab holds it while it is written: the reference key of a photo, or an expert's own reading.

Every change is saved at once, as soon as phase and view are said; what another window saved meanwhile is never
overwritten.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any

import streamlit as st

from records.errors import RecordsError, StaleWrite
from records.key.expert_keys import expert_keys_of, set_expert_key
from records.key.reference_keys import How, KeyChange, key_to_edit, write_key
from records.photo.photos import PhotoRecord, get_photo
from rubric.answers import Answer, KeyAnswer, Phase, ReferenceKey, View
from screens.data import me, store
from screens.language import _, said
from vision.landmarks import LandmarkSet, Point


class Desk(StrEnum):
    """Whose key it is."""

    REFERENCE = "reference"
    READING = "reading"


@dataclass
class KeyDesk:
    """What this tab knows of a key. `generation` names widgets anew after a reload, `revision` is the one on record."""

    kind: Desk
    photo: PhotoRecord
    phase: Phase | None = None
    view: View | None = None
    answers: dict[str, KeyAnswer] = field(default_factory=dict)
    landmarks: LandmarkSet = field(default_factory=LandmarkSet)
    revision: int = 0
    writable: bool = True
    history: tuple[KeyChange, ...] = ()
    how: How = How.ALONE
    generation: int = 0
    editor_revision: int = 0
    fault: str | None = None
    pin_item: str | None = None

    @property
    def unsaved(self) -> bool:
        """Whether something was entered that waits for phase and view."""
        return (self.phase is None or self.view is None) and bool(self.answers or self.landmarks.points)


def desk(kind: Desk, photo_id: str) -> KeyDesk:
    """This tab's copy, loaded from the store the first time. Raises RecordsError."""
    known = st.session_state.get("key-desk")
    if isinstance(known, KeyDesk) and (known.kind, known.photo.id) == (kind, photo_id):
        return known
    return reload(kind, photo_id)


def reload(kind: Desk, photo_id: str) -> KeyDesk:
    """Take what is on record, in place of what this tab holds."""
    known = st.session_state.get("key-desk")
    loaded = KeyDesk(
        kind=kind,
        photo=get_photo(store(), me(), photo_id),
        generation=known.generation + 1 if isinstance(known, KeyDesk) else 0,
    )
    if kind == Desk.REFERENCE:
        edited = key_to_edit(store(), me(), photo_id)
        _fill(loaded, edited.key, edited.landmarks, edited.revision)
        loaded.writable, loaded.history = edited.writable, edited.history
    else:
        seen = expert_keys_of(store(), me(), photo_id)
        if seen.mine is not None:
            _fill(loaded, seen.mine.key, seen.mine.landmarks, seen.mine.revision)
        loaded.writable = not seen.opened
    st.session_state["key-desk"] = loaded
    return loaded


def _fill(work: KeyDesk, key: ReferenceKey | None, landmarks: LandmarkSet | None, revision: int) -> None:
    if key is not None:
        work.phase, work.view, work.answers = key.phase, key.view, dict(key.answers)
    work.landmarks, work.revision = landmarks or LandmarkSet(), revision


def start_from(work: KeyDesk, key: ReferenceKey, landmarks: LandmarkSet) -> None:
    """Put a key that was put together from the experts' onto the desk, and save it."""
    work.phase, work.view, work.answers, work.landmarks = key.phase, key.view, dict(key.answers), landmarks
    work.how = How.FROM_EXPERTS
    work.editor_revision += 1
    save(work)


def save(work: KeyDesk) -> None:
    """Save what is on the desk; a fault is remembered for the page to show, and the desk stays."""
    if work.phase is None or work.view is None or not work.writable:
        return
    key = ReferenceKey(phase=work.phase, view=work.view, answers=work.answers)
    points = _as_reference(work.landmarks)
    try:
        if work.kind == Desk.REFERENCE:
            written = write_key(
                store(), me(), work.photo.id, key, points, expected_revision=work.revision, how=work.how
            )
            work.revision, work.history = written.revision, written.history
        else:
            given = set_expert_key(store(), me(), work.photo.id, key, points, expected_revision=work.revision)
            work.revision = given.revision
        work.fault = None
    except RecordsError as error:
        work.fault = (
            _("{error} What you see here was not saved.").format(error=error)
            if isinstance(error, StaleWrite)
            else said(error)
        )


def _as_reference(landmarks: LandmarkSet) -> LandmarkSet:
    """Points that a person placed are the key's; those of a detector say so until somebody moves them."""
    mine: Mapping[str, Point] = {
        name: replace(point, by="reference") for name, point in landmarks.points.items() if point.by == "student"
    }
    return landmarks.with_points(mine)


def keep_points(work: KeyDesk, landmarks: LandmarkSet, *, by_python: bool = False) -> None:
    """Save points; `by_python` where the program changed them, so that the editor takes them over."""
    work.landmarks = landmarks
    if by_python:
        work.editor_revision += 1
    save(work)


def keep_answer(work: KeyDesk, item_id: str, given: Answer | None) -> None:
    """Save one answer, or with None take it out of the key; reasons stay, and what no longer fits goes."""
    before = work.answers.pop(item_id, None)
    if given is not None:
        cant = given == Answer.CANT_TELL
        work.answers[item_id] = KeyAnswer(
            answer=given,
            why=before.why if before else "",
            accepted=(before.accepted if before else frozenset()) - {given},
            spot=before.spot if before and not cant else None,
            settles=before.settles if before and cant else None,
        )
    save(work)


def change_answer(work: KeyDesk, item_id: str, **changed: Any) -> None:
    """Save another reason, spot, settling view or set of accepted answers for a sign that is answered."""
    before = work.answers.get(item_id)
    if before is not None:
        work.answers[item_id] = replace(before, **changed)
        save(work)
