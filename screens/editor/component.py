"""Registers the editor with Streamlit and mounts it."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Literal

import streamlit as st

from screens.editor import assets
from screens.editor.payload import (
    asked_payload,
    box_payload,
    landmarks_payload,
    pin_item_payload,
    pins_payload,
    points_payload,
)
from screens.editor.reading import read_value
from screens.editor.value import EditorValue, Pin, PinItem
from screens.language import _, browser_words
from screens.language import current as language
from vision.landmarks import LANDMARK_IDS, LANDMARK_NAMES, LandmarkSet

Mode = Literal["points", "pins", "box", "look"]
Whose = Literal["you", "student"]
Box = tuple[float, float, float, float]

_COMPONENT = "latch_and_line_editor"
_NO_PINS: Mapping[str, Pin] = MappingProxyType({})
_NO_TEXT: Mapping[str, str] = MappingProxyType({})


def landmark_editor(
    *,
    key: str,
    photo_url: str,
    width: int,
    height: int,
    landmarks: LandmarkSet,
    revision: int,
    mode: Mode = "points",
    ask: Sequence[str] = LANDMARK_IDS,
    readout: Mapping[str, str] | Callable[[LandmarkSet], Mapping[str, str]] = _NO_TEXT,
    ask_yaw: bool = True,
    blind: bool = False,
    pins: Mapping[str, Pin] = _NO_PINS,
    pin_item: PinItem | None = None,
    box: Box | None = None,
    ask_box: bool = False,
    box_label: str | None = None,
    reference: LandmarkSet | None = None,
    photo_label: str = "",
    photo_alt: str = "",
    whose: Whose = "you",
    compare_url: str | None = None,
    compare_label: str = "",
    height_px: int = 640,
    on_edit: Callable[[EditorValue], None] | None = None,
) -> EditorValue | None:
    """Mount the editor; call it inside a fragment, always with the same key for the same photo and round.

    Parameters
    ----------
    key : str
        Names this editor in the session.
    photo_url : str
        Where the browser fetches the picture, which may be a reduced copy; never a data URL.
    width, height : int
        Of the upright photo in its own pixels: the frame of all points.
    landmarks : LandmarkSet
        The points to start from. Give a new `revision` whenever Python itself changed them, and only then.
    revision : int
        The browser adopts `landmarks`, `pins` and `box` when this number changes.
    mode : {"points", "pins", "box", "look"}
        Place landmarks; pin where a sign is seen; mark a part of the photo; look only.
    ask : sequence of landmark ids
        In the order in which they are asked for.
    readout : mapping of measure name to text, or a function of the current landmarks that returns one
        Interval and all, as Python computed it. A function is called with the points as the person last left them, so
        the text is right in the very run that follows a release. A text that begins with a number stands large on its
        card; what follows a line break stands small below it.
    ask_yaw : bool
        Show the strip of heads.
    blind : bool
        Second round: the caller gives no points, and the editor shows no numbers, which would steer the hand.
    pins, pin_item
        Pins to show, and the item that the next click pins.
    box, ask_box, box_label
        What the person marked (left, top, width, height in pixels), whether "points" offers the tool, and its name
        (by default the baby's head, in "box" the part to keep). "look" with `ask_box` is the same as the mode "box".
    reference : LandmarkSet or None
        In "look": shown over the points, in other shapes, with a legend.
    photo_alt
        What a screen reader calls the photo, without reading anything into it.
    whose : {"you", "student"}
        Whose points and pins these are, as the legend and a screen reader call them.
    photo_label, compare_url, compare_label
        A caption, and a second photo beside the first one, to look at only.
    height_px : int
        Height of the photo's stage; less on small screens.
    on_edit : callable or None
        Called with each new edit before the script runs again: the place to save.

    Returns
    -------
    EditorValue or None
        None where the person has edited nothing since `revision`.

    Raises
    ------
    ValueError
        For an id in `ask` that is no landmark, or a size that is not above 0.
    """
    _check(ask, width, height)

    def current() -> EditorValue | None:
        raw = st.session_state.get(key)
        sent = raw.get("edit") if isinstance(raw, Mapping) else None
        value = read_value(sent, width=width, height=height, base=landmarks, base_pins=pins, base_box=box)
        return None if value is None or (value.fault is None and value.revision != revision) else value

    def edited() -> None:
        value = current()
        if on_edit is not None and value is not None:
            on_edit(value)

    now = current()
    shown = landmarks if now is None else now.landmarks
    shown_box = box if now is None else now.box
    data: dict[str, Any] = {
        "key": key,
        "language": language(),
        "words": browser_words(),
        "mode": mode,
        "photo": {"url": photo_url, "width": width, "height": height, "label": photo_label, "alt": photo_alt},
        "compare": None if compare_url is None else {"url": compare_url, "label": compare_label},
        "whose": whose,
        "revision": revision,
        "edit": 0 if now is None else now.edit,
        "blind": blind,
        "heightPx": height_px,
        "ask": asked_payload(ask),
        "askYaw": ask_yaw,
        "askBox": ask_box or mode == "box",
        "boxLabel": box_label or (_("Mark the baby's head") if mode == "points" else _("Mark the part to keep")),
        "names": {name: _(plain) for name, plain in LANDMARK_NAMES.items()},
        **landmarks_payload(shown, width, height),
        "reference": None if reference is None else points_payload(reference, width, height),
        "readout": dict(readout(shown) if callable(readout) else readout),
        "pins": _pins_now(pins, pin_item, now),
        "pinItem": pin_item_payload(pin_item),
        "box": box_payload(shown_box, width, height),
        "fault": None if now is None else now.fault,
    }
    _renderer()(key=key, data=data, on_edit_change=edited)
    return now


def _check(ask: Sequence[str], width: int, height: int) -> None:
    unknown = [name for name in ask if name not in LANDMARK_NAMES]
    if unknown:
        raise ValueError(f"unknown landmark {', '.join(unknown)} asked for; known are {', '.join(LANDMARK_IDS)}")
    if width <= 0 or height <= 0:
        raise ValueError(f"a photo's width and height must be above 0, got {width} and {height}")


def _pins_now(pins: Mapping[str, Pin], item: PinItem | None, now: EditorValue | None) -> dict[str, dict[str, Any]]:
    """Own pins where the person last left them, with the labels that the caller gave."""
    shown = pins_payload(pins)
    if now is None:
        return shown
    kept = {name: pin for name, pin in shown.items() if pin["reference"] or name in now.pins}
    for name, spot in now.pins.items():
        words = (item.short, item.label) if item is not None and item.id == name else ("", "")
        fresh = {"short": words[0], "label": words[1], "reference": False}
        kept[name] = {**kept.get(name, fresh), "x": spot.x, "y": spot.y}
    return kept


def _renderer() -> Any:
    """Register at every call: the registry belongs to the running server, and the same definition twice is no news."""
    return st.components.v2.component(_COMPONENT, html=assets.html(), css=assets.css(), js=assets.js())
