"""What a student practises next: own weak signs, spaced by the published scheduler FSRS, never by chance.

FSRS (Free Spaced Repetition Scheduler, version 6, package `fsrs`, MIT) models how memory of one thing fades and strengthens. Its
card here is a sign, and its review a day on which the student answered that sign. It was fitted to people who learn facts from
cards; that it suits learning to see is an assumption.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from fsrs import Card, Rating, Scheduler

from rubric.feedback import Outcome
from rubric.review.figures import Share
from rubric.said import Said

#: Answers that count as the key's; blanks and items without a key are passed over.
_SAME = frozenset({Outcome.SAME, Outcome.ACCEPTED})
_COUNTED = _SAME | {Outcome.DIFFERS, Outcome.OVER_CLAIMED, Outcome.UNDER_CLAIMED}

#: No sign is left alone for longer than half a year.
_LONGEST_DAYS = 180


@dataclass(frozen=True, kw_only=True)
class Attempt:
    """One answer that was compared with the key.

    Parameters
    ----------
    item, photo : str
    outcome : Outcome
    at : datetime
        With its time zone.
    """

    item: str
    photo: str
    outcome: Outcome
    at: datetime

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise ValueError(f"an attempt's time needs its zone, got {self.at}")


@dataclass(frozen=True, kw_only=True)
class ItemPlan:
    """When to practise one sign again, and on which photos.

    Parameters
    ----------
    item : str
    due : datetime or None
        None for a sign that was never answered.
    is_due : bool
    recall : float or None
        How likely the sign is seen as the key has it, by the scheduler, now; 0 to 1.
    agrees : Share
        Of all answers to this sign so far.
    photos : tuple of str
        To practise it on, best first: new ones, then those seen longest ago.
    reason : str
        One sentence for the student.
    """

    item: str
    due: datetime | None
    is_due: bool
    recall: float | None
    agrees: Share
    photos: tuple[str, ...]
    reason: str


def practice_plan(
    attempts: Iterable[Attempt], photos: Mapping[str, Sequence[str]], *, now: datetime, n_photos: int = 3
) -> tuple[ItemPlan, ...]:
    """All signs in the order in which to practise them: those due, the least sure first; new ones; then by due date.

    The answers of one day to one sign make one review, since the scheduler counts in days: all the key's answers are "good",
    half or more "hard", fewer "again".

    Parameters
    ----------
    attempts : of one student, in any order; those after `now` are passed over
    photos : mapping of item id to photo ids
        Photos whose key answers that item, the most telling first; only these items are planned.
    now : datetime
        With its time zone.

    Examples
    --------
    >>> monday = datetime(2026, 3, 2, 9, tzinfo=UTC)
    >>> one = Attempt(item="lips_out", photo="p1", outcome=Outcome.DIFFERS, at=monday)
    >>> plan = practice_plan([one], {"lips_out": ["p1", "p2"]}, now=datetime(2026, 3, 4, 9, tzinfo=UTC))
    >>> plan[0].is_due, plan[0].photos
    (True, ('p2', 'p1'))
    """
    if now.tzinfo is None:
        raise ValueError(f"now needs its time zone, got {now}")
    known = sorted((one for one in attempts if one.at <= now), key=lambda one: (one.at, one.photo, one.item))
    seen = {one.photo: one.at for one in known}  # the latest, since they are in order
    counted = [one for one in known if one.outcome in _COUNTED]
    plans = [
        _item_plan(item, [one for one in counted if one.item == item], now, _choose(offered, seen, n_photos))
        for item, offered in photos.items()
    ]
    return tuple(sorted(plans, key=_order))


def _order(plan: ItemPlan) -> tuple[int, float, float]:
    agrees = 0.0 if plan.agrees.value is None else plan.agrees.value
    if plan.due is None or plan.recall is None:
        return (1, 0.0, 0.0)
    return (0, plan.recall * agrees, agrees) if plan.is_due else (2, plan.due.timestamp(), agrees)


def _choose(offered: Sequence[str], seen: Mapping[str, datetime], n: int) -> tuple[str, ...]:
    never = datetime.min.replace(tzinfo=UTC)
    return tuple(sorted(dict.fromkeys(offered), key=lambda photo: seen.get(photo, never))[:n])


def _item_plan(item: str, attempts: Sequence[Attempt], now: datetime, photos: tuple[str, ...]) -> ItemPlan:
    agrees = Share(count=sum(one.outcome in _SAME for one in attempts), n=len(attempts))
    if not attempts:
        reason = Said("You have not answered this sign yet.")
        return ItemPlan(item=item, due=None, is_due=False, recall=None, agrees=agrees, photos=photos, reason=reason)
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), maximum_interval=_LONGEST_DAYS, enable_fuzzing=False)
    card = _card(scheduler, attempts)
    is_due = card.due <= now
    return ItemPlan(
        item=item,
        due=card.due,
        is_due=is_due,
        recall=float(scheduler.get_card_retrievability(card, now.astimezone(UTC))),
        agrees=agrees,
        photos=photos,
        reason=_reason(agrees, card.due, is_due),
    )


def _card(scheduler: Scheduler, attempts: Sequence[Attempt]) -> Card:
    days: dict[object, list[Attempt]] = {}
    for attempt in attempts:
        days.setdefault(attempt.at.astimezone(UTC).date(), []).append(attempt)
    first = attempts[0].at.astimezone(UTC)
    card = Card(card_id=1, due=first)  # a number of its own, since the package waits for the clock to make one
    for answers in days.values():
        share = sum(one.outcome in _SAME for one in answers) / len(answers)
        rating = Rating.Good if share == 1 else Rating.Hard if share >= 0.5 else Rating.Again
        card, _ = scheduler.review_card(card, rating, answers[-1].at.astimezone(UTC))
    return card


def _reason(agrees: Share, due: datetime, is_due: bool) -> str:
    if is_due:
        return Said(
            "{count} of your {n} answers to this sign are the key's so far; it is time to look at it again.",
            count=agrees.count,
            n=agrees.n,
        )
    return Said(
        "{count} of your {n} answers to this sign are the key's so far; next on {day}.",
        count=agrees.count,
        n=agrees.n,
        day=due.date().isoformat(),
    )
