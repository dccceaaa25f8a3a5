"""Attempts at a photo while they are under way: started, saved at every step, resumed after a restart."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Literal

from records.people import Person
from records.store import Store
from rubric.answers import AnswerSheet
from vision.landmarks import LandmarkSet

Round = Literal[1, 2]


class Order(StrEnum):
    """What comes first. With MEASURE_FIRST there is one sheet, that of round 1."""

    SCORE_FIRST = "score_first"
    MEASURE_FIRST = "measure_first"


class Step(StrEnum):
    """Where the person stands."""

    SCORE = "score"
    MEASURE = "measure"
    MEASURE_AGAIN = "measure_again"
    SCORE_AGAIN = "score_again"
    HAND_IN = "hand_in"


@dataclass(frozen=True, kw_only=True)
class SavedSheet:
    """A sheet as saved; `revision` counts the saves from 1."""

    sheet: AnswerSheet
    revision: int


@dataclass(frozen=True, kw_only=True)
class SavedPoints:
    """Placed landmarks as saved; `revision` counts the saves from 1."""

    landmarks: LandmarkSet
    revision: int


@dataclass(frozen=True, kw_only=True)
class AttemptRecord:
    """An attempt that is not handed in yet.

    Parameters
    ----------
    id, photo_id, photo_title : str
    order : Order
    step : Step
    started_at : datetime
        UTC.
    sheets : mapping of round to SavedSheet
        Rounds that were saved; round 1 is the first look, round 2 the answers after measuring.
    points : mapping of round to SavedPoints
        Round 2 is the blind repeat.
    """

    id: str
    photo_id: str
    photo_title: str
    order: Order
    step: Step
    started_at: datetime
    sheets: Mapping[Round, SavedSheet]
    points: Mapping[Round, SavedPoints]

    def sheet(self, round: Round) -> AnswerSheet:
        """The saved sheet of that round, or an empty one."""
        saved = self.sheets.get(round)
        return saved.sheet if saved else AnswerSheet()

    def sheet_revision(self, round: Round) -> int:
        """What `save_sheet` expects next; 0 where nothing is saved."""
        saved = self.sheets.get(round)
        return saved.revision if saved else 0

    def landmarks(self, round: Round) -> LandmarkSet:
        """The saved landmarks of that round, or an empty set."""
        saved = self.points.get(round)
        return saved.landmarks if saved else LandmarkSet()

    def points_revision(self, round: Round) -> int:
        """What `save_points` expects next; 0 where nothing is saved."""
        saved = self.points.get(round)
        return saved.revision if saved else 0


def start_attempt(store: Store, person: Person, photo_id: str, order: Order = Order.SCORE_FIRST) -> AttemptRecord:
    """Begin a new attempt. Raises NotFound, NotAllowed, ConsentRefused."""
    raise NotImplementedError


def resume(store: Store, person: Person, attempt_id: str) -> AttemptRecord:
    """An open attempt as it was last saved. Raises NotFound, NotAllowed, AlreadyHandedIn."""
    raise NotImplementedError


def open_attempts(store: Store, person: Person) -> tuple[AttemptRecord, ...]:
    """All that is not handed in, latest start first."""
    raise NotImplementedError


def save_step(store: Store, person: Person, attempt_id: str, step: Step) -> None:
    """Remember where the person stands."""
    raise NotImplementedError


def save_sheet(
    store: Store, person: Person, attempt_id: str, round: Round, sheet: AnswerSheet, expected_revision: int
) -> int:
    """Save a sheet; returns its new revision. Raises StaleWrite where another revision than expected is on record."""
    raise NotImplementedError


def save_points(
    store: Store, person: Person, attempt_id: str, round: Round, landmarks: LandmarkSet, expected_revision: int
) -> int:
    """Save landmarks; returns their new revision. Raises StaleWrite where another revision than expected is on record."""
    raise NotImplementedError
