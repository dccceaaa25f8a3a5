"""Answers and landmarks on their way into JSON columns: nothing is stored that could not be read back the same."""

from collections.abc import Callable
from typing import Any, TypeVar

from records.errors import InvalidRecord
from rubric.answers import AnswerSheet, ReferenceKey
from rubric.errors import RubricError
from rubric.scoring import key_from_json, key_to_json, sheet_from_json, sheet_to_json
from vision.errors import VisionError
from vision.landmark_files import landmarks_from_json, landmarks_to_json
from vision.landmarks import LandmarkSet

Json = dict[str, Any]
_Value = TypeVar("_Value")


def stored_sheet(sheet: AnswerSheet) -> Json:
    """A sheet as JSON. Raises InvalidRecord for one that could not be read back."""
    return _stored(sheet, sheet_to_json, sheet_from_json, these="These answers", the="The answers")


def stored_key(key: ReferenceKey) -> Json:
    """A reference key as JSON. Raises InvalidRecord for one that could not be read back."""
    of_key = {"these": "This reference key", "the": "The answers of the reference key"}
    return _stored(key, key_to_json, key_from_json, **of_key)


def stored_landmarks(landmarks: LandmarkSet) -> Json:
    """Landmarks as JSON. Raises InvalidRecord for a set that could not be read back."""
    return _stored(landmarks, landmarks_to_json, landmarks_from_json, these="These points", the="The points")


def _stored(
    value: _Value, to_json: Callable[[_Value], Json], from_json: Callable[[Json], _Value], *, these: str, the: str
) -> Json:
    try:
        stored = to_json(value)
        same = from_json(stored) == value
    except (RubricError, VisionError) as error:
        raise InvalidRecord(f"{these} cannot be stored: {_inner(error)}.") from error
    if not same:
        raise InvalidRecord(f"{the} would change on being stored, so nothing was saved.")
    return stored


def _inner(error: Exception) -> str:
    """What another package says, to stand inside a sentence."""
    return str(error).rstrip(".")
