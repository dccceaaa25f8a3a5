"""Handing in: one transaction after which an attempt no longer changes, and all that was handed in so far."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from records.attempts import Order, Round
from records.people import Person
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
        None once the photo is gone; then `landmarks` is empty and the sheets hold no spots.
    order : Order
    started_at, handed_in_at : datetime
        UTC.
    sheets : mapping of round to AnswerSheet
        Round 1 is the first look, round 2 (where there is one) the answers after measuring.
    landmarks : mapping of round to LandmarkSet
    measures : mapping
        As given at handing in.
    measure_version, checklist_version : str
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

    @property
    def final_sheet(self) -> AnswerSheet:
        """The answers that count: those of the last round."""
        return self.sheets[max(self.sheets)]


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
    """Freeze sheets, points and measures in one transaction.

    `measures_json` must hold no coordinates (a withdrawal leaves it in place). `sheet_revision` (of the last round that
    has a sheet) and `points_revision` (of round 1) say what the person saw; where given and something newer is on
    record, nothing is handed in.
    """
    raise NotImplementedError


def handed_in(store: Store, person: Person, attempt_id: str) -> HandedIn:
    """One attempt that was handed in. Raises NotFound, NotAllowed."""
    raise NotImplementedError


def history(store: Store, person: Person) -> tuple[HandedIn, ...]:
    """All that this person handed in, oldest first."""
    raise NotImplementedError
