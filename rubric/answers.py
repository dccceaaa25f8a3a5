"""The answers that a person gives about one photo, and the reference key that they are compared with."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import isfinite
from types import MappingProxyType

from rubric.errors import InvalidAnswer


class Answer(StrEnum):
    """*Can't tell from this photo* is a real answer; a blank is the absence of an answer."""

    SEEN = "seen"
    NOT_SEEN = "not_seen"
    CANT_TELL = "cant_tell"


class Phase(StrEnum):
    """When the photo was taken."""

    BEFORE = "before"
    AT_BREAST = "at_breast"


class View(StrEnum):
    """Where the camera stands, seen from the baby."""

    SIDE = "side"
    OBLIQUE = "oblique"
    FRONT = "front"
    BACK = "back"


class Settles(StrEnum):
    """What would settle an item that this photo cannot."""

    SIDE = "side"
    OBLIQUE = "oblique"
    FRONT = "front"
    BACK = "back"
    CLOSER = "closer"
    OTHER_MOMENT = "other_moment"
    NO_PHOTO = "no_photo"


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A place on the photo, as shares of its width and height, each in [0, 1]."""

    x: float
    y: float

    def __post_init__(self) -> None:
        for name, value in (("x", self.x), ("y", self.y)):
            if not (isfinite(value) and 0 <= value <= 1):
                raise InvalidAnswer(f"a spot's {name} must lie in 0 to 1, got {value}")


@dataclass(frozen=True, kw_only=True)
class ItemAnswer:
    """One person's answer to one item.

    Parameters
    ----------
    answer : Answer
    spot : Spot or None
        Where on the photo it is seen or missed; only with SEEN and NOT_SEEN.
    settles : Settles or None
        What would settle it; only with CANT_TELL.

    Raises
    ------
    InvalidAnswer
        For a spot with CANT_TELL, or `settles` with another answer.
    """

    answer: Answer
    spot: Spot | None = None
    settles: Settles | None = None

    def __post_init__(self) -> None:
        if self.spot is not None and self.answer == Answer.CANT_TELL:
            raise InvalidAnswer("a spot goes with seen or not seen, got can't tell")
        if self.settles is not None and self.answer != Answer.CANT_TELL:
            raise InvalidAnswer(f"what would settle it goes with can't tell, got {self.answer.value}")


@dataclass(frozen=True, kw_only=True)
class AnswerSheet:
    """All that one person said about one photo at one look.

    Parameters
    ----------
    phase, view : Phase and View, or None
        None while the person has not said it.
    answers : mapping of item id to ItemAnswer
        A blank item is absent. The mapping is copied and cannot be changed afterwards.
    """

    phase: Phase | None = None
    view: View | None = None
    answers: Mapping[str, ItemAnswer] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "answers", MappingProxyType(dict(self.answers)))


@dataclass(frozen=True, kw_only=True)
class KeyAnswer:
    """The reference answer to one item.

    Parameters
    ----------
    answer : Answer
    why : str
        What in the photo shows it, for the feedback.
    accepted : frozenset of Answer
        Other answers that the key's authors also accept.
    spot, settles
        As in ItemAnswer.
    """

    answer: Answer
    why: str
    accepted: frozenset[Answer] = frozenset()
    spot: Spot | None = None
    settles: Settles | None = None


@dataclass(frozen=True, kw_only=True)
class ReferenceKey:
    """What the educator holds to be seen in one photo."""

    phase: Phase
    view: View
    answers: Mapping[str, KeyAnswer] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "answers", MappingProxyType(dict(self.answers)))
