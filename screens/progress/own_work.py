"""A person's own work over time, from own practice and class work: only beside keys that may be seen by now.

Knows no page: records in, values for `rubric` out. A key that waits stays unread, so nothing here can give it away.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from types import MappingProxyType

import numpy as np

from records.attempt.handing_in import HandedIn, history
from records.errors import RecordsError
from records.identity.people import Person
from records.key.keys import KeyRecord, key_for, key_waits
from records.key.panel_keys import parted_signs
from records.photo.photos import list_photos
from records.photo.practice_photos import photos_by_sign
from records.store import Store
from rubric.feedback import compare_with_key
from rubric.items import Checklist
from rubric.measure_feedback import MeasureFeedback, compare_measures
from rubric.over_time import AngleReading
from rubric.practice_plan import Attempt, ItemPlan, practice_plan
from rubric.review.angles import AngleTable
from rubric.review.findings import ClassWork
from rubric.review.table import class_table, key_table
from rubric.review.whole import ClassReview, review_class
from screens.language import _
from screens.practice.measuring import evidence_values, from_json
from screens.samples import shown_title

#: Angles that are followed over time.
ANGLES = ("gape_angle", "alignment_angle", "head_deviation")
ME = "you"


@dataclass(frozen=True, kw_only=True)
class OwnEntry:
    """One piece of work that was handed in; `key` is None where there is none, or it may not be seen yet.

    `parted` names the signs on which the photo's experts part: there nobody is compared with the key.
    """

    number: int
    done: HandedIn
    key: KeyRecord | None
    measures: tuple[MeasureFeedback, ...]
    parted: frozenset[str] = frozenset()

    @property
    def title(self) -> str:
        """What the photo is called."""
        return shown_title(self.done.photo_title) if self.done.photo_title else _("a photo that is no longer here")

    def difference(self, name: str) -> float | None:
        """Own angle minus the key's, in degrees."""
        return next((one.difference for one in self.measures if one.name == name), None)


def own_entries(store: Store, person: Person) -> tuple[OwnEntry, ...]:
    """All that the person handed in, oldest first."""
    parted = parted_signs(store, person)
    return tuple(
        _entry(store, person, number, one, parted.get(one.photo_id or "", frozenset()))
        for number, one in enumerate(history(store, person), start=1)
    )


def _entry(store: Store, person: Person, number: int, done: HandedIn, parted: frozenset[str]) -> OwnEntry:
    key = _key(store, person, done.attempt_id)
    measures: tuple[MeasureFeedback, ...] = ()
    if key is not None and key.landmarks is not None:
        compared = compare_measures(from_json(done.measures), evidence_values(key.landmarks))
        measures = tuple(one for one in compared if one.name in ANGLES)
    return OwnEntry(number=number, done=done, key=key, measures=measures, parted=parted)


def _key(store: Store, person: Person, attempt_id: str) -> KeyRecord | None:
    try:
        # Asked first, so that looking at one's own progress does not fill the log with refusals.
        waits = key_waits(store, person, attempt_id)
        return key_for(store, person, attempt_id) if waits is None else None
    except RecordsError:
        return None


def own_attempts(entries: Sequence[OwnEntry], checklist: Checklist) -> tuple[Attempt, ...]:
    """Every answer of the look that counts, beside its key."""
    return tuple(
        Attempt(
            item=one.item.id,
            photo=entry.done.photo_id or entry.done.attempt_id,
            outcome=one.outcome,
            at=entry.done.handed_in_at.astimezone(UTC),
        )
        for entry in entries
        if entry.key is not None
        for one in compare_with_key(checklist, entry.done.final_sheet, entry.key.key, disputed=entry.parted).items
    )


def own_angles(entries: Sequence[OwnEntry]) -> tuple[AngleReading, ...]:
    """Every angle that both the person and the key have."""
    return tuple(
        AngleReading(measure=one.name, difference=one.difference, at=entry.done.handed_in_at.astimezone(UTC))
        for entry in entries
        for one in entry.measures
        if one.difference is not None
    )


def own_plan(store: Store, person: Person, entries: Sequence[OwnEntry], checklist: Checklist) -> tuple[ItemPlan, ...]:
    """What to practise next, on photos that the person may use now."""
    visible = {item.id for item in checklist.items if item.visible}
    photos = {item: there for item, there in photos_by_sign(store, person).items() if item in visible}
    in_order = {item.id: photos[item.id] for item in checklist.items if item.id in photos}
    return practice_plan(own_attempts(entries, checklist), in_order, now=_utc(store.now()))


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)


def photo_titles(store: Store, person: Person) -> Mapping[str, str]:
    """What the photos are called that the person may practise on."""
    return MappingProxyType({photo.id: shown_title(photo.title) for photo in list_photos(store, person)})


def own_review(entries: Sequence[OwnEntry], checklist: Checklist) -> tuple[ClassReview, Mapping[str, str]] | None:
    """The figures of one person over all work whose key may be seen, and the names of its photos; None where there is none.

    A photo that was done several times stands there each time, by its number.
    """
    known = {f"{entry.number}": entry for entry in entries if entry.key is not None}
    keys = {name: entry.key.key for name, entry in known.items() if entry.key is not None}
    if not keys:
        return None
    key = key_table(checklist, keys, disputed={name: entry.parted for name, entry in known.items()})
    sheets = {name: entry.done.sheets for name, entry in known.items()}
    first = class_table(key, {ME: {name: by_round[min(by_round)] for name, by_round in sheets.items()}})
    second = class_table(key, {ME: {name: by_round[max(by_round)] for name, by_round in sheets.items()}})
    two_looks = any(len(by_round) > 1 for by_round in sheets.values())
    work = ClassWork(
        first=first, second=second if two_looks else None, angles=tuple(_angles(name, known) for name in ANGLES)
    )
    names = {name: f"{entry.number}. {entry.title}" for name, entry in known.items()}
    return review_class(work), MappingProxyType(names)


def _angles(name: str, known: Mapping[str, OwnEntry]) -> AngleTable:
    values, key = np.full((1, len(known)), np.nan), np.full(len(known), np.nan)
    for at, entry in enumerate(known.values()):
        for one in entry.measures:
            if one.name == name and one.own is not None and one.reference is not None:
                values[0, at] = np.nan if one.own.value is None else one.own.value
                key[at] = np.nan if one.reference.value is None else one.reference.value
    return AngleTable(name=name, students=(ME,), photos=tuple(known), values=values, key=key)
