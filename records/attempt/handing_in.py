"""Handing in: one transaction after which an attempt no longer changes, and all that was handed in so far."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import selectinload

from records.access import own_attempt
from records.attempt.attempt_values import ClassPlace, Order, Round, Step, place_of, points_of, sheets_of
from records.attempt.attempts import row_to_change
from records.errors import InvalidRecord, NotFound, NothingToHandIn, StaleWrite
from records.identity.people import Person
from records.models import AttemptRow, MeasurementRow
from records.rights import Right, service
from records.store import Store
from rubric.answers import AnswerSheet
from vision.landmarks import LandmarkSet


@dataclass(frozen=True, kw_only=True)
class HandedIn:
    """An attempt that was handed in.

    Parameters
    ----------
    attempt_id : str
    photo_id, photo_title : str or None
        None once the photo is gone; then `landmarks` is empty and the sheets hold no spots. In class work the title is
        the name of the place there, and stays.
    order : Order
    started_at, handed_in_at : datetime
        UTC.
    sheets : mapping of round to AnswerSheet
        Round 1 is the first look, round 2 (where there is one) the answers after measuring.
    landmarks : mapping of round to LandmarkSet
    measures : mapping
        As given at handing in.
    measure_version, checklist_version : str
    place : ClassPlace or None
        None where it was practised alone.
    """

    attempt_id: str
    photo_id: str | None
    photo_title: str | None
    order: Order
    started_at: datetime
    handed_in_at: datetime
    sheets: Mapping[Round, AnswerSheet]
    landmarks: Mapping[Round, LandmarkSet]
    measures: Mapping[str, Any]
    measure_version: str
    checklist_version: str
    place: ClassPlace | None = None

    @property
    def final_sheet(self) -> AnswerSheet:
        """The answers that count: those of the last round."""
        return self.sheets[max(self.sheets)]


@service(Right.PRACTISE)
def hand_in(
    store: Store,
    person: Person,
    attempt_id: str,
    *,
    measures_json: Mapping[str, Any],
    measure_version: str,
    checklist_version: str = "",
    sheet_revision: int | None = None,
    points_revision: int | None = None,
) -> HandedIn:
    """Freeze sheets, points and measures in one transaction: a killed process leaves all of it or nothing.

    Parameters
    ----------
    store : Store
    person : Person
    attempt_id : str
    measures_json : mapping
        Kept as given. It must hold no coordinates: a withdrawal leaves it in place.
    measure_version, checklist_version : str
        What made the measures, and which checklist was answered.
    sheet_revision, points_revision : int or None
        Of the latest sheet and of the points of round 1, as the person saw them (0 for none). Where given and
        another one is on record, nothing is handed in.

    Raises
    ------
    NothingToHandIn
        Without any saved sheet.
    InvalidRecord
        Also for class work whose points are to be placed twice and were placed once.
    NotAllowed
        Also for class work that is closed, or of a class that the person has left.
    StaleWrite, AlreadyHandedIn, NotFound, StorageFault
    """
    measures = _plain_json(measures_json)
    with store.writing() as session:
        row = row_to_change(session, person, attempt_id)
        _check_seen(row, sheet_revision, points_revision)
        _check_placed_twice(row)
        row.handed_in_at, row.step = store.now(), Step.HAND_IN.value
        session.flush()
        row.measurement = MeasurementRow(
            measures=measures, measure_version=measure_version, checklist_version=checklist_version
        )
        session.flush()
        return handed_in_record(row)


def _plain_json(measures: Mapping[str, Any]) -> dict[str, Any]:
    try:
        copied = json.loads(json.dumps(dict(measures), allow_nan=False))
    except (TypeError, ValueError) as error:
        raise InvalidRecord("The measures cannot be stored: they must be plain JSON without NaN.") from error
    return dict(copied)


def _check_seen(row: AttemptRow, sheet_revision: int | None, points_revision: int | None) -> None:
    if not row.sheets:
        raise NothingToHandIn("There are no answers to hand in yet; please go through the checklist first.")
    latest = max(row.sheets, key=lambda sheet: sheet.round)
    # Who looked at an empty second sheet, and there is none, saw what is on record.
    sheets_seen = {None, latest.revision} | ({0} if latest.round == 1 else set())
    first_points = next((points.revision for points in row.points if points.round == 1), 0)
    if sheet_revision not in sheets_seen or points_revision not in (None, first_points):
        raise StaleWrite(
            "This practice was changed in another window in the meantime, so it was not handed in; "
            "reload the page, look at it again and then hand in."
        )


def _check_placed_twice(row: AttemptRow) -> None:
    place = place_of(row)
    rounds = {points.round for points in row.points if points.landmarks["landmarks"]}
    if place is not None and place.places_twice and 1 in rounds and 2 not in rounds:
        raise InvalidRecord(
            "This work asks for the points twice: please place them once more, blind, and then hand in."
        )


@service(Right.PRACTISE)
def handed_in(store: Store, person: Person, attempt_id: str) -> HandedIn:
    """One attempt that was handed in. Raises NotFound (also before it is handed in), NotAllowed."""
    with store.reading() as session:
        row = own_attempt(session, person, attempt_id)
        if row.handed_in_at is None:
            raise NotFound("This practice has not been handed in yet.")
        return handed_in_record(row)


@service(Right.PRACTISE)
def history(store: Store, person: Person) -> tuple[HandedIn, ...]:
    """All that this person handed in, oldest first."""
    done = (
        select(AttemptRow)
        .where(AttemptRow.person_id == person.id, AttemptRow.handed_in_at.is_not(None))
        .options(selectinload(AttemptRow.sheets), selectinload(AttemptRow.points), selectinload(AttemptRow.measurement))
        .order_by(AttemptRow.handed_in_at, AttemptRow.id)
    )
    with store.reading() as session:
        return tuple(handed_in_record(row) for row in session.scalars(done))


def handed_in_record(row: AttemptRow) -> HandedIn:
    """The row of an attempt that was handed in, as the rest of the program sees it."""
    place = place_of(row)
    there = row.photo.removed_at is None
    assert row.handed_in_at is not None
    assert row.measurement is not None
    return HandedIn(
        attempt_id=row.id,
        photo_id=row.photo_id if there else None,
        photo_title=place.name if place else row.photo.title,
        order=Order(row.order_of_work),
        started_at=row.started_at,
        handed_in_at=row.handed_in_at,
        sheets=MappingProxyType({round: saved.sheet for round, saved in sheets_of(row).items()}),
        landmarks=MappingProxyType({round: saved.landmarks for round, saved in points_of(row).items()}),
        measures=MappingProxyType(row.measurement.measures),
        measure_version=row.measurement.measure_version,
        checklist_version=row.measurement.checklist_version,
        place=place,
    )
