"""Experts' readings on record as `rubric.panel` takes them, what it finds in a sentence, and one key put together from them."""

from collections.abc import Sequence
from dataclasses import replace

from records.key.expert_keys import ExpertKey, ExpertKeys
from rubric.answers import ReferenceKey
from rubric.estimates import Agreement
from rubric.items import Checklist
from rubric.panel import KeyChange, PanelReview, consensus_key, key_changes, review_panel
from screens.language import _, _n
from vision.landmarks import LandmarkSet, Point, Visibility

CONSENSUS = "reference"


def panel_of(photos: Sequence[ExpertKeys], checklist: Checklist) -> PanelReview | None:
    """The panel over photos that two or more experts read; None where there is none whose readings may be seen."""
    read = {photo.photo_id: _by_expert(photo.all) for photo in photos if len(photo.all) > 1}
    return review_panel(checklist, read) if read else None


def panel_of_one(keys: Sequence[ExpertKey], checklist: Checklist) -> PanelReview:
    """The readings of one photo, also a single one."""
    return review_panel(checklist, {"": _by_expert(keys)})


def _by_expert(keys: Sequence[ExpertKey]) -> dict[str, ReferenceKey]:
    return {key.expert: key.key for key in keys}


def agreement_line(panel: PanelReview) -> str:
    """The figures in a sentence or two."""
    n = len(panel.disputed)
    if panel.percent.value is None:
        return _n(
            "On {n} photo with two or more readings no sign was answered by two experts.",
            "On {n} photos with two or more readings no sign was answered by two experts.",
            n,
        ).format(n=n)
    first = _n(
        "On {n} photo with two or more readings the experts agree in {share:.0f} % of {n_answers} answers{interval}.",
        "On {n} photos with two or more readings the experts agree in {share:.0f} % of {n_answers} answers{interval}.",
        n,
    ).format(n=n, share=100 * panel.percent.value, n_answers=panel.percent.n_items, interval=_within(panel.percent))
    kappa, ac1 = panel.beyond_chance.kappa, panel.beyond_chance.ac1
    name = "Cohen's" if len(panel.experts) == 2 else "Fleiss'"
    return _(
        "{first} With chance taken out (1 is full agreement, 0 what guessing gives): {name} kappa {kappa}, Gwet's AC1 {ac1}."
    ).format(first=first, name=name, kappa=_value(kappa), ac1=_value(ac1))


def _within(percent: Agreement) -> str:
    ends = percent.interval(0.95)
    if ends.low is None or ends.high is None:
        return ""
    return " " + _("(95 % interval {low:.0f} to {high:.0f} %)").format(low=100 * ends.low, high=100 * ends.high)


def _value(one: Agreement) -> str:
    return (
        _("is not defined here ({reason})").format(reason=_(one.reason or ""))
        if one.value is None
        else f"{round(one.value, 2) + 0.0:.2f}"
    )


def key_from_experts(keys: Sequence[ExpertKey]) -> tuple[ReferenceKey, LandmarkSet]:
    """A key to go on from: the answers on which all agree, and points in the middle of theirs.

    Raises
    ------
    ValueError
        For fewer than two readings.
    """
    if len(keys) < 2:
        raise ValueError(f"a key is put together from two or more readings, got {len(keys)}")
    return consensus_key(_by_expert(keys)), points_from_experts([one.landmarks for one in keys if one.landmarks])


def given_up(keys: Sequence[ExpertKey]) -> tuple[KeyChange, ...]:
    """Who changes what for the key put together from these readings; the ask group stays out of a key's grades anyway."""
    by_expert = _by_expert(keys)
    return key_changes(by_expert, consensus_key(by_expert))


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
