"""A student's answers beside the reference key, item by item, at the spot. It compares; it gives no mark."""

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from math import hypot

from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, ReferenceKey, Spot
from rubric.items import Checklist, Item
from rubric.measure_feedback import MeasureFeedback, PointFeedback, compare_measures, compare_points
from rubric.said import Said, together
from rubric.words import ANSWER_WORDS, PHASE_WORDS, SETTLES_WORDS, VIEW_WORDS, sentence

__all__ = [
    "Feedback",
    "ItemFeedback",
    "MeasureFeedback",
    "Outcome",
    "PointFeedback",
    "compare_measures",
    "compare_points",
    "compare_with_key",
    "spot_distance",
]


class Outcome(StrEnum):
    """How one answer stands to the key."""

    SAME = "same"
    ACCEPTED = "accepted"
    DIFFERS = "differs"
    OVER_CLAIMED = "over_claimed"
    UNDER_CLAIMED = "under_claimed"
    BLANK = "blank"
    NOT_IN_KEY = "not_in_key"
    PARTED = "parted"


_OTHER_CHOICE = Said("You chose {own}, the key {key}: other items apply then.")
_NOT_COMPARED = frozenset({Outcome.BLANK, Outcome.NOT_IN_KEY, Outcome.PARTED})


@dataclass(frozen=True, kw_only=True)
class ItemFeedback:
    """One item, both answers, and what to say about them.

    Parameters
    ----------
    item : Item
    own : ItemAnswer or None
        None for a blank.
    key : KeyAnswer or None
        None where the key says nothing.
    outcome : Outcome
    spot_distance : float or None
        From the student's spot to the key's, as a share of the photo's diagonal; None unless both pinned one.
    text : str
        Sentences for the student: what each said, why, where, and which view would settle it.
    """

    item: Item
    own: ItemAnswer | None
    key: KeyAnswer | None
    outcome: Outcome
    spot_distance: float | None
    text: str


@dataclass(frozen=True, kw_only=True)
class Feedback:
    """All items of one sheet beside the key.

    Parameters
    ----------
    items : tuple of ItemFeedback
        In the order of the checklist; only items that the student or the key answered. The ask group stays out.
    n_same : int
        Answers that the key gives or also accepts.
    n_compared : int
        Items that both answered and on which the experts do not part.
    over_claimed : tuple of str
        Ids of items answered *seen* or *not seen* where the key holds that the photo cannot tell.
    notes : tuple of str
        Sentences on the sheet as a whole: another phase or view than the key's, answers to items of another checklist.
    """

    items: tuple[ItemFeedback, ...]
    n_same: int
    n_compared: int
    over_claimed: tuple[str, ...]
    notes: tuple[str, ...]


def compare_with_key(
    checklist: Checklist,
    sheet: AnswerSheet,
    key: ReferenceKey,
    *,
    photo_size: tuple[int, int] | None = None,
    disputed: Collection[str] = (),
) -> Feedback:
    """Set a student's sheet beside the reference key.

    Parameters
    ----------
    checklist : Checklist
    sheet : AnswerSheet
    key : ReferenceKey
    photo_size : (width, height) in pixels, or None
        Only its shape counts, for distances between spots; without it the photo is taken as square.
    disputed : collection of str
        Ids of items on which the experts part: both answers are shown, and nobody is compared.
    """
    answered = (
        item for item in checklist.items if item.visible and (item.id in sheet.answers or item.id in key.answers)
    )
    items = tuple(
        _item_feedback(item, sheet, key, photo_size or (1, 1), disputed=item.id in disputed) for item in answered
    )
    outcomes = [item.outcome for item in items]
    return Feedback(
        items=items,
        n_same=outcomes.count(Outcome.SAME) + outcomes.count(Outcome.ACCEPTED),
        n_compared=sum(outcome not in _NOT_COMPARED for outcome in outcomes),
        over_claimed=tuple(item.item.id for item in items if item.outcome == Outcome.OVER_CLAIMED),
        notes=(*_photo_notes(sheet, key), *_unknown_notes(checklist, sheet, key)),
    )


def _item_feedback(
    item: Item, sheet: AnswerSheet, key: ReferenceKey, photo_size: tuple[int, int], *, disputed: bool
) -> ItemFeedback:
    own, reference = sheet.answers.get(item.id), key.answers.get(item.id)
    distance = _spot_distance(own, reference, photo_size)
    outcome = _outcome(own, reference)
    if disputed and own is not None and reference is not None:
        outcome = Outcome.PARTED
    parts = [_first_sentence(own, reference, outcome)]
    if reference is not None:
        parts += [_why(reference), _where(own, reference, distance), *_settling(item, own, reference)]
    return ItemFeedback(
        item=item,
        own=own,
        key=reference,
        outcome=outcome,
        spot_distance=distance,
        text=together(part for part in parts if part),
    )


def _outcome(own: ItemAnswer | None, key: KeyAnswer | None) -> Outcome:
    if key is None:
        return Outcome.NOT_IN_KEY
    if own is None:
        return Outcome.BLANK
    if own.answer == key.answer:
        return Outcome.SAME
    if own.answer in key.accepted:
        return Outcome.ACCEPTED
    if key.answer == Answer.CANT_TELL:
        return Outcome.OVER_CLAIMED
    return Outcome.UNDER_CLAIMED if own.answer == Answer.CANT_TELL else Outcome.DIFFERS


def _first_sentence(own: ItemAnswer | None, key: KeyAnswer | None, outcome: Outcome) -> str:
    mine = "" if own is None else ANSWER_WORDS[own.answer]
    theirs = "" if key is None else ANSWER_WORDS[key.answer]
    return {
        Outcome.SAME: Said("You and the key say the same: {key}.", key=theirs),
        Outcome.ACCEPTED: Said(
            "You said {own}; the key says {key} and accepts your answer as well.", own=mine, key=theirs
        ),
        Outcome.DIFFERS: Said("You said {own}, which differs from the key: {key}.", own=mine, key=theirs),
        Outcome.OVER_CLAIMED: Said(
            "You said {own}; the key holds that this photo does not show enough to tell.", own=mine
        ),
        Outcome.UNDER_CLAIMED: Said(
            "You said {own}; the key finds enough in this photo to say {key}.", own=mine, key=theirs
        ),
        Outcome.BLANK: Said("You left this blank; the key says {key}.", key=theirs),
        Outcome.NOT_IN_KEY: Said("You said {own}; the key says nothing about this item.", own=mine),
        Outcome.PARTED: Said(
            "You said {own}, the key {key}. Experts read this sign differently, so nobody is compared.",
            own=mine,
            key=theirs,
        ),
    }[outcome]


def _why(key: KeyAnswer) -> str:
    return Said("Why: {why}", why=sentence(key.why)) if key.why.strip() else ""


def _where(own: ItemAnswer | None, key: KeyAnswer, distance: float | None) -> str:
    if key.spot is None:
        return ""
    if distance is not None:
        return Said(
            "Your spot lies about {percent:.0f} % of the photo's diagonal from the key's.", percent=100 * distance
        )
    if own is not None and own.answer != Answer.CANT_TELL:
        return Said("The key pins where to look; you pinned no spot.")
    return Said("The key pins where to look.")


def _settling(item: Item, own: ItemAnswer | None, key: KeyAnswer) -> list[str]:
    if key.answer != Answer.CANT_TELL:
        return []
    settles = key.settles or item.settles
    told = Said("What would settle it: {view}.", view=SETTLES_WORDS[settles])
    if own is None or own.settles is None:
        return [told]
    if own.settles == settles:
        return [told, Said("You named the same.")]
    return [told, Said("You named {view}.", view=SETTLES_WORDS[own.settles])]


def _spot_distance(own: ItemAnswer | None, key: KeyAnswer | None, photo_size: tuple[int, int]) -> float | None:
    if own is None or key is None or own.spot is None or key.spot is None:
        return None
    return spot_distance(own.spot, key.spot, photo_size=photo_size)


def spot_distance(first: Spot, second: Spot, *, photo_size: tuple[int, int]) -> float:
    """Distance of two spots as a share of the photo's diagonal, 0 to 1; photo_size is (width, height).

    >>> spot_distance(Spot(x=0, y=0), Spot(x=1, y=1), photo_size=(400, 300))
    1.0
    """
    width, height = photo_size
    return hypot((first.x - second.x) * width, (first.y - second.y) * height) / hypot(width, height)


def _photo_notes(sheet: AnswerSheet, key: ReferenceKey) -> list[str]:
    notes: list[str] = []
    if sheet.phase != key.phase:
        mine = Said("no phase") if sheet.phase is None else PHASE_WORDS[sheet.phase]
        notes.append(Said(_OTHER_CHOICE, own=mine, key=PHASE_WORDS[key.phase]))
    if sheet.view != key.view:
        mine = Said("no view") if sheet.view is None else VIEW_WORDS[sheet.view]
        notes.append(Said(_OTHER_CHOICE, own=mine, key=VIEW_WORDS[key.view]))
    return notes


def _unknown_notes(checklist: Checklist, sheet: AnswerSheet, key: ReferenceKey) -> list[str]:
    known = {item.id for item in checklist.items}
    gone = [item_id for item_id in dict.fromkeys([*sheet.answers, *key.answers]) if item_id not in known]
    told = Said("Not compared, because this checklist has no such item: {items}.", items=", ".join(gone))
    return [told] if gone else []
