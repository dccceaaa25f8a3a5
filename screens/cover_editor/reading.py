"""What the browser sends, read with suspicion: types, ranges and numbers of things, all in pixels of the upright photo."""

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import Any, TypeVar

from screens.cover_editor.value import CoverEditorValue, Crop
from screens.frame.checked import DECIMALS, RefusedError, counter, left_out, mapping, number
from screens.language import _
from vision.covering.areas import SMALLEST_SIDE_PX, CoverArea, CoverKind, CoverShape
from vision.photo import MIN_SIDE

#: More covers than a photo that is worth keeping needs.
MAX_AREAS = 60
_SAME = 0.02
#: An area's middle may lie this many photo sides outside, its sides be so many photo sides long.
_OUTSIDE, _SIDES = 1.0, 3.0

_Choice = TypeVar("_Choice", bound=StrEnum)


def read_value(
    raw: object,
    *,
    width: int,
    height: int,
    areas: Sequence[CoverArea] = (),
    proposals: Sequence[CoverArea] = (),
    crop: Crop | None = None,
) -> CoverEditorValue | None:
    """Read what the browser sent.

    Parameters
    ----------
    raw : object
        The component's state, untrusted.
    width, height : int
        Of the upright photo, in pixels.
    areas, proposals, crop
        What the caller gave to the editor.

    Returns
    -------
    CoverEditorValue or None
        None where nothing has been edited; a value with `fault` where the browser sent nonsense.

    Examples
    --------
    >>> card = {"from": None, "kind": "name", "shape": "rectangle", "x": 80, "y": 60, "w": 40, "h": 20, "turn": 0}
    >>> sent = {"edit": 1, "revision": 0, "areas": [{**card, "open": False}], "crop": None}
    >>> read_value(sent, width=800, height=600).areas[0].kind
    <CoverKind.NAME: 'name'>
    >>> read_value({**sent, "areas": [{**card, "w": 1e9, "open": False}]}, width=800, height=600).fault
    'the browser sent a width outside 4 to 2400, so this edit was left out'
    """
    if raw is None:
        return None
    try:
        sent = mapping(raw, _("no state"))
        known = {**{f"a{i}": area for i, area in enumerate(areas)}, **{f"p{i}": a for i, a in enumerate(proposals)}}
        read = [_area(mapping(one, _("no cover")), width, height, known) for one in _items(sent.get("areas"))]
        return CoverEditorValue(
            areas=tuple(area for area, is_open in read if not is_open),
            proposals=tuple(area for area, is_open in read if is_open),
            crop=_crop(sent.get("crop"), width, height),
            revision=counter(sent.get("revision")),
            edit=counter(sent.get("edit")),
        )
    except RefusedError as refused:
        fault = left_out(refused)
    return CoverEditorValue(areas=tuple(areas), proposals=tuple(proposals), crop=crop, revision=0, edit=0, fault=fault)


def _items(value: object) -> list[Any]:
    if not isinstance(value, list):
        raise RefusedError(_("no covers"))
    if len(value) > MAX_AREAS:
        raise RefusedError(_("too many covers"))
    return value


def _number(value: object, low: float, high: float, what: str) -> float:
    return round(number(value, low, high, what), DECIMALS)


def _choice(kinds: type[_Choice], value: object, what: str) -> _Choice:
    if not isinstance(value, str) or value not in list(kinds):
        raise RefusedError(what)
    return kinds(value)


def _area(sent: Mapping[str, Any], width: int, height: int, known: Mapping[str, CoverArea]) -> tuple[CoverArea, bool]:
    """The area and whether it is a proposal that nobody has decided on."""
    is_open, source = sent.get("open"), sent.get("from")
    if not isinstance(is_open, bool):
        raise RefusedError(_("a cover that is neither proposed nor decided"))
    if source is not None and (not isinstance(source, str) or source not in known):
        raise RefusedError(_("a cover of unknown origin"))
    longest = _SIDES * max(width, height)
    area = CoverArea(
        kind=_choice(CoverKind, sent.get("kind"), _("an unknown kind of cover")),
        shape=_choice(CoverShape, sent.get("shape"), _("an unknown shape of cover")),
        x=_number(sent.get("x"), -_OUTSIDE * width, (1 + _OUTSIDE) * width, _("a coordinate")),
        y=_number(sent.get("y"), -_OUTSIDE * height, (1 + _OUTSIDE) * height, _("a coordinate")),
        width=_number(sent.get("w"), SMALLEST_SIDE_PX, longest, _("a width")),
        height=_number(sent.get("h"), SMALLEST_SIDE_PX, longest, _("a height")),
        turn_deg=_number(sent.get("turn"), -180, 180, _("a turn")),
    )
    before = None if source is None else known[source]
    if is_open and (source is None or not source.startswith("p")):
        raise RefusedError(_("a proposal that nobody proposed"))
    return (before if before is not None and _same(before, area) else area), is_open


def _same(before: CoverArea, now: CoverArea) -> bool:
    pairs = ((before.x, now.x), (before.y, now.y), (before.width, now.width), (before.height, now.height))
    still = all(abs(old - new) < _SAME for old, new in (*pairs, (before.turn_deg, now.turn_deg)))
    return still and before.kind == now.kind and before.shape == now.shape


def _crop(crop: object, width: int, height: int) -> Crop | None:
    if crop is None:
        return None
    if not isinstance(crop, list) or len(crop) != 4:
        raise RefusedError(_("no crop"))
    x, w = _number(crop[0], 0, width, _("a crop")), _number(crop[2], MIN_SIDE, width, _("a crop"))
    y, h = _number(crop[1], 0, height, _("a crop")), _number(crop[3], MIN_SIDE, height, _("a crop"))
    if x + w > width + _SAME or y + h > height + _SAME:
        raise RefusedError(_("a crop outside the photo"))
    return x, y, w, h
