"""What the browser sends, read with suspicion.

Frame: the browser speaks in shares of the photo's width and height; everything here that leaves is in pixels of the
upright photo, x right, y down, pins and nothing else excepted.
"""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from rubric.answers import Spot
from screens.editor.value import EditorValue, Pin
from screens.frame.checked import DECIMALS, RefusedError, counter, left_out, mapping, number
from screens.language import _
from vision.landmarks import LANDMARK_IDS, STUDENT_YAW_SIGMA_DEG, HeadYaw, LandmarkSet, Point, Visibility

#: More pins than any checklist has items.
MAX_PINS = 64
MAX_ID_LENGTH = 64


def read_value(
    raw: object,
    *,
    width: int,
    height: int,
    base: LandmarkSet,
    base_pins: Mapping[str, Pin] = MappingProxyType({}),
    base_box: tuple[float, float, float, float] | None = None,
) -> EditorValue | None:
    """Read what the browser sent.

    Parameters
    ----------
    raw : object
        The component's state, untrusted.
    width, height : int
        Of the upright photo, in pixels.
    base, base_pins, base_box
        What the caller gave to the editor: a point that nobody moved keeps its sigma and its maker.

    Returns
    -------
    EditorValue or None
        None where nothing has been edited; a value with `fault` where the browser sent nonsense.

    Examples
    --------
    >>> sent = {"edit": 1, "revision": 0, "points": {"chin": {"x": 0.5, "y": 0.25, "v": 2, "by": "student"}}}
    >>> read_value(sent, width=800, height=600, base=LandmarkSet()).landmarks.get("chin").x
    400.0
    >>> read_value({"edit": 1, "revision": 0, "points": {"knee": {}}}, width=800, height=600, base=LandmarkSet()).fault
    'the browser sent an unknown landmark, so this edit was left out'
    """
    if raw is None:
        return None
    own_pins = {name: pin.spot for name, pin in base_pins.items() if not pin.of_reference}
    try:
        sent = mapping(raw, _("no state"))
        return EditorValue(
            landmarks=replace(base, points=_points(sent, width, height, base), head_yaw=_yaw(sent, base)),
            revision=counter(sent.get("revision")),
            edit=counter(sent.get("edit")),
            pins=_pins(sent),
            box=_box(sent, width, height),
        )
    except RefusedError as refused:
        fault = left_out(refused)
    return EditorValue(landmarks=base, revision=0, edit=0, pins=own_pins, box=base_box, fault=fault)


def _pixels(share: object, extent: int) -> float:
    return round(number(share, 0, 1, _("a coordinate")) * extent, DECIMALS)


def _points(sent: Mapping[str, Any], width: int, height: int, base: LandmarkSet) -> dict[str, Point]:
    points = mapping(sent.get("points"), _("no points"))
    if not set(points) <= set(LANDMARK_IDS):
        raise RefusedError(_("an unknown landmark"))
    return {name: _point(mapping(points[name], _("no point")), width, height, base.get(name)) for name in points}


def _point(sent: Mapping[str, Any], width: int, height: int, before: Point | None) -> Point:
    x, y = _pixels(sent.get("x"), width), _pixels(sent.get("y"), height)
    seen = sent.get("v")
    if isinstance(seen, bool) or seen not in (1, 2):
        raise RefusedError(_("an unknown visibility"))
    visibility = Visibility(int(seen))
    untouched = before is not None and sent.get("by") == before.by and abs(before.x - x) + abs(before.y - y) < 0.02
    if before is not None and untouched:
        return replace(before, visibility=visibility)
    return Point(x=x, y=y, visibility=visibility, by="student")


def _yaw(sent: Mapping[str, Any], base: LandmarkSet) -> HeadYaw | None:
    if sent.get("yaw") is None:
        return None
    yaw = mapping(sent["yaw"], _("no head direction"))
    deg = number(yaw.get("deg"), 0, 180, _("a head direction"))
    if base.head_yaw is not None and yaw.get("by") == base.head_yaw.by and abs(deg - base.head_yaw.deg) < 0.01:
        return base.head_yaw
    return HeadYaw(deg=deg, sigma_deg=STUDENT_YAW_SIGMA_DEG, by="student")


def _pins(sent: Mapping[str, Any]) -> dict[str, Spot]:
    pins = mapping(sent.get("pins", {}), _("no pins"))
    if len(pins) > MAX_PINS or any(len(name) > MAX_ID_LENGTH for name in pins):
        raise RefusedError(_("too many pins"))
    spots = {name: mapping(pin, _("no pin")) for name, pin in pins.items()}
    return {
        name: Spot(x=number(pin.get("x"), 0, 1, _("a pin")), y=number(pin.get("y"), 0, 1, _("a pin")))
        for name, pin in spots.items()
    }


def _box(sent: Mapping[str, Any], width: int, height: int) -> tuple[float, float, float, float] | None:
    box = sent.get("box")
    if box is None:
        return None
    if not isinstance(box, list) or len(box) != 4:
        raise RefusedError(_("no box"))
    x, y, w, h = (number(part, 0, 1, _("a box")) for part in box)
    if x + w > 1 + 1e-9 or y + h > 1 + 1e-9 or w <= 0 or h <= 0:
        raise RefusedError(_("a box outside the photo"))
    return (
        round(x * width, DECIMALS),
        round(y * height, DECIMALS),
        round(w * width, DECIMALS),
        round(h * height, DECIMALS),
    )
