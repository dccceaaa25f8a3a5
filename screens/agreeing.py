"""How far experts' readings agree, sign by sign over the photos of a set, and one key put together from them.

Knows no page: readings in, tables and keys out. The signs that no photo shows stay out of all figures.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from records.expert_keys import ExpertKey, ExpertKeys
from rubric.agreement import cohen_kappa, krippendorff_alpha, percent_agreement
from rubric.answers import Answer, KeyAnswer, ReferenceKey
from rubric.estimates import Agreement
from rubric.items import Checklist, Item
from vision.landmarks import LandmarkSet, Point, Visibility

CONSENSUS = "reference"
_T = TypeVar("_T")


@dataclass(frozen=True, kw_only=True)
class SignReadings:
    """One sign of one photo as each expert read it, by handle; None where an expert left it blank."""

    item: Item
    answers: tuple[tuple[str, Answer | None], ...]

    @property
    def parted(self) -> bool:
        """Whether experts gave different answers; a blank is no answer."""
        return len({answer for _, answer in self.answers if answer is not None}) > 1


@dataclass(frozen=True, kw_only=True)
class SetAgreement:
    """The figures over all photos that two or more experts read.

    Parameters
    ----------
    n_photos : int
    percent : Agreement
        Share of agreeing pairs of experts.
    chance_corrected : Agreement
        Cohen's kappa of two experts, else Krippendorff's alpha.
    name : str
        Which of the two.
    """

    n_photos: int
    percent: Agreement
    chance_corrected: Agreement
    name: str


def readings_by_sign(keys: Sequence[ExpertKey], checklist: Checklist) -> tuple[SignReadings, ...]:
    """Every sign that at least one expert answered, in the checklist's order."""
    asked = {item.id for item in checklist.ask_items()}
    found = []
    for item in checklist.items:
        answers = tuple((key.expert, _answer(key, item.id)) for key in keys)
        if item.id not in asked and any(answer is not None for _, answer in answers):
            found.append(SignReadings(item=item, answers=answers))
    return tuple(found)


def set_agreement(photos: Sequence[ExpertKeys], checklist: Checklist) -> SetAgreement | None:
    """The figures over a set; None where no photo was read by two experts whose readings may be seen."""
    read = [photo for photo in photos if len(photo.all) > 1]
    if not read:
        return None
    experts = sorted({key.expert for photo in read for key in photo.all})
    table = [row for photo in read for row in _rows(photo, experts, checklist)]
    if len(experts) == 2:
        corrected, name = cohen_kappa(table), "Cohen's kappa"
    else:
        corrected, name = krippendorff_alpha(table), "Krippendorff's alpha"
    return SetAgreement(n_photos=len(read), percent=percent_agreement(table), chance_corrected=corrected, name=name)


def _rows(photo: ExpertKeys, experts: Sequence[str], checklist: Checklist) -> Iterator[list[str | None]]:
    for sign in readings_by_sign(photo.all, checklist):
        given = dict(sign.answers)
        yield [answer.value if (answer := given.get(expert)) is not None else None for expert in experts]


def _answer(key: ExpertKey, item_id: str) -> Answer | None:
    found = key.key.answers.get(item_id)
    return None if found is None else found.answer


def agreement_line(agreement: SetAgreement) -> str:
    """The figures in a sentence or two."""
    n = agreement.n_photos
    photos = f"On {n} photo{'' if n == 1 else 's'} with two or more readings"
    percent, corrected = agreement.percent, agreement.chance_corrected
    if percent.value is None:
        return f"{photos} no sign was answered by two experts."
    ends = percent.interval(0.95)
    within = ""
    if ends.low is not None and ends.high is not None:
        within = f" (95 % interval {100 * ends.low:.0f} to {100 * ends.high:.0f} %)"
    first = f"{photos} the experts agree in {100 * percent.value:.0f} % of {percent.n_items} answers{within}."
    if corrected.value is None:
        return f"{first} {agreement.name} is not defined here: {corrected.reason}."
    return f"{first} {agreement.name}, which takes chance out: {corrected.value:.2f}."


def key_from_experts(keys: Sequence[ExpertKey]) -> tuple[ReferenceKey, LandmarkSet]:
    """A key to go on from: what most experts say stands, what they part on evenly is left blank.

    Phase and view are those that most say, the first expert's where that is even. Answers of the minority are accepted
    beside. The reasons are joined. A point lies in the middle of where two or more experts put it.

    Raises
    ------
    ValueError
        For fewer than two readings.
    """
    if len(keys) < 2:
        raise ValueError(f"a key is put together from two or more readings, got {len(keys)}")
    item_ids = dict.fromkeys(item_id for key in keys for item_id in key.key.answers)
    answers = {item_id: found for item_id in item_ids if (found := _together(keys, item_id)) is not None}
    joined = ReferenceKey(
        phase=_most([key.key.phase for key in keys]), view=_most([key.key.view for key in keys]), answers=answers
    )
    return joined, points_from_experts([key.landmarks for key in keys if key.landmarks is not None])


def _together(keys: Sequence[ExpertKey], item_id: str) -> KeyAnswer | None:
    given = [key.key.answers[item_id] for key in keys if item_id in key.key.answers]
    (first, n_first), *others = Counter(one.answer for one in given).most_common()
    if len(given) < 2 or (others and others[0][1] == n_first):
        return None
    agreeing = [one for one in given if one.answer == first]
    accepted = frozenset(one.answer for one in given) | frozenset(extra for one in agreeing for extra in one.accepted)
    whys = dict.fromkeys(one.why.strip() for one in agreeing if one.why.strip())
    return replace(agreeing[0], accepted=accepted - {first}, why=" ".join(_ended(why) for why in whys))


def _ended(why: str) -> str:
    return why if why.endswith((".", "!", "?")) else f"{why}."


def _most(values: Sequence[_T]) -> _T:
    return Counter(values).most_common(1)[0][0]


def points_from_experts(sets: Sequence[LandmarkSet]) -> LandmarkSet:
    """Points in the middle of where two or more put them; seen where most say so; all else is the first one's."""
    if not sets:
        return LandmarkSet()
    names = dict.fromkeys(name for one in sets for name in one.points)
    found: dict[str, Point] = {}
    for name in names:
        placed = [one.points[name] for one in sets if name in one.points]
        if len(placed) < 2:
            continue
        seen = sum(point.visibility == Visibility.SEEN for point in placed) * 2 >= len(placed)
        found[name] = Point(
            x=sum(point.x for point in placed) / len(placed),
            y=sum(point.y for point in placed) / len(placed),
            visibility=Visibility.SEEN if seen else Visibility.HIDDEN,
            by=CONSENSUS,
        )
    return replace(sets[0], points=found, gape=None)
