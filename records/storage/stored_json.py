"""Answers and landmarks on their way into JSON columns: nothing is stored that could not be read back the same."""

from typing import Any

from records.errors import InvalidRecord
from rubric.answers import AnswerSheet, ReferenceKey
from rubric.errors import RubricError
from rubric.scoring import key_from_json, key_to_json, sheet_from_json, sheet_to_json
from vision.errors import VisionError
from vision.landmark_files import landmarks_from_json, landmarks_to_json
from vision.landmarks import LandmarkSet

Json = dict[str, Any]


def stored_sheet(sheet: AnswerSheet) -> Json:
    """A sheet as JSON. Raises InvalidRecord for one that could not be read back."""
    try:
        stored = sheet_to_json(sheet)
        same = sheet_from_json(stored) == sheet
    except RubricError as error:
        raise InvalidRecord(f"These answers cannot be stored: {_inner(error)}.") from error
    return _kept(stored, same, "answers")


def stored_key(key: ReferenceKey) -> Json:
    """A reference key as JSON. Raises InvalidRecord for one that could not be read back."""
    try:
        stored = key_to_json(key)
        same = key_from_json(stored) == key
    except RubricError as error:
        raise InvalidRecord(f"This reference key cannot be stored: {_inner(error)}.") from error
    return _kept(stored, same, "answers of the reference key")


def stored_landmarks(landmarks: LandmarkSet) -> Json:
    """Landmarks as JSON. Raises InvalidRecord for a set that could not be read back."""
    try:
        stored = landmarks_to_json(landmarks)
        same = landmarks_from_json(stored) == landmarks
    except VisionError as error:
        raise InvalidRecord(f"These points cannot be stored: {_inner(error)}.") from error
    return _kept(stored, same, "points")


def _kept(stored: dict[str, Any], same: bool, what: str) -> Json:
    if not same:
        raise InvalidRecord(f"The {what} would change on being stored, so nothing was saved.")
    return stored


def _inner(error: Exception) -> str:
    """What another package says, to stand inside a sentence."""
    return str(error).rstrip(".")
