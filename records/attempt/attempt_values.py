"""What an attempt under way looks like to the rest of the program, and how it is read from its rows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType
from typing import Literal, cast

from sqlalchemy.orm import object_session

from records.classroom.slots import n_slots
from records.models import AssignmentRow, AttemptRow
from rubric.answers import AnswerSheet
from rubric.scoring import sheet_from_json
from vision.landmark_files import landmarks_from_json
from vision.landmarks import LandmarkSet

#: 1 is the first look (or first placing), 2 the answers after measuring (or the blind repeat).
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
class ClassPlace:
    """Where in class work an attempt stands: slot of n, the how-manieth try, and whether points are placed twice."""

    assignment_id: str
    title: str
    slot: int
    n_slots: int
    try_number: int
    places_twice: bool

    @property
    def name(self) -> str:
        """What the attempt is called; a photo's own title could give away what it teaches."""
        again = f", try {self.try_number}" if self.try_number > 1 else ""
        return f"{self.title}, photo {self.slot} of {self.n_slots}{again}"


@dataclass(frozen=True, kw_only=True)
class AttemptRecord:
    """An attempt that is not handed in yet.

    Parameters
    ----------
    id, photo_id : str
    photo_title : str
        In class work the name of its place there.
    order : Order
    step : Step
    started_at : datetime
        UTC.
    sheets : mapping of round to SavedSheet
        Rounds that were saved; round 1 is the first look, round 2 the answers after measuring.
    points : mapping of round to SavedPoints
        Round 2 is the blind repeat.
    place : ClassPlace or None
        None where it is practised alone.
    """

    id: str
    photo_id: str
    photo_title: str
    order: Order
    step: Step
    started_at: datetime
    sheets: Mapping[Round, SavedSheet]
    points: Mapping[Round, SavedPoints]
    place: ClassPlace | None = None

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


def sheets_of(row: AttemptRow) -> dict[Round, SavedSheet]:
    """The saved sheets by round."""
    return {
        cast(Round, sheet.round): SavedSheet(sheet=sheet_from_json(sheet.answers), revision=sheet.revision)
        for sheet in row.sheets
    }


def points_of(row: AttemptRow) -> dict[Round, SavedPoints]:
    """The saved landmarks by round."""
    return {
        cast(Round, points.round): SavedPoints(
            landmarks=landmarks_from_json(points.landmarks), revision=points.revision
        )
        for points in row.points
    }


def place_of(row: AttemptRow) -> ClassPlace | None:
    """Where in class work an attempt stands; None where it is practised alone."""
    session = object_session(row)
    if row.assignment_id is None or session is None:
        return None
    work = session.get_one(AssignmentRow, row.assignment_id)
    return ClassPlace(
        assignment_id=work.id,
        title=work.title,
        slot=row.slot or 0,
        n_slots=n_slots(work),
        try_number=row.try_number,
        places_twice=work.places_twice,
    )


def record_of(row: AttemptRow) -> AttemptRecord:
    """The row of an attempt that is not handed in, as the rest of the program sees it."""
    place = place_of(row)
    return AttemptRecord(
        id=row.id,
        photo_id=row.photo_id,
        photo_title=place.name if place else row.photo.title or "",
        order=Order(row.order_of_work),
        step=Step(row.step),
        started_at=row.started_at,
        sheets=MappingProxyType(sheets_of(row)),
        points=MappingProxyType(points_of(row)),
        place=place,
    )
