"""What an example class is made of."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rubric.answers import AnswerSheet, ReferenceKey
from vision.landmarks import LandmarkSet

HANDLE = "Example student"
#: How the audit log names the making of an example, which is what tells it from other classes.
MADE = "add_example_class"


@dataclass(frozen=True, kw_only=True)
class ExamplePhoto:
    """A photo that came with the program, with its key."""

    photo_id: str
    key: ReferenceKey
    landmarks: LandmarkSet


@dataclass(frozen=True, kw_only=True)
class ExampleWork:
    """What one invented student hands in on one photo: two looks, points, and the measures as a screen gives them."""

    first: AnswerSheet
    second: AnswerSheet
    landmarks: LandmarkSet
    measures: Mapping[str, Any]
    seconds: float


@dataclass(frozen=True, kw_only=True)
class ExampleWords:
    """What the class, its set and its work are called; each should say that it is an example."""

    class_title: str
    set_title: str
    work_title: str


@dataclass(frozen=True, kw_only=True)
class ExampleClass:
    """Where the example of a person is."""

    class_id: str
    work_id: str
