"""Registers the cover editor with Streamlit and mounts it."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st

from screens.cover_editor import assets
from screens.cover_editor.reading import MAX_AREAS, read_value
from screens.cover_editor.value import CoverEditorValue, Crop
from screens.language import N_, _, browser_words
from screens.language import current as language
from vision.cover import COVER_COLOUR, MARGIN_PX
from vision.covering.areas import SMALLEST_SIDE_PX, CoverArea, CoverKind
from vision.photo import MIN_SIDE

_COMPONENT = "latch_and_line_cover_editor"

#: What a person chooses from, in the order of the buttons.
KIND_WORDS: Mapping[CoverKind, str] = {
    CoverKind.FACE: N_("Face"),
    CoverKind.WRISTBAND: N_("Wristband"),
    CoverKind.TATTOO: N_("Tattoo or mark"),
    CoverKind.NAME: N_("Name or card"),
    CoverKind.SCREEN: N_("Screen or paper"),
    CoverKind.OTHER: N_("Something else"),
}

#: The same within a sentence.
_WITHIN: Mapping[CoverKind, str] = {
    CoverKind.FACE: N_("face"),
    CoverKind.WRISTBAND: N_("wristband"),
    CoverKind.TATTOO: N_("tattoo or mark"),
    CoverKind.NAME: N_("name or card"),
    CoverKind.SCREEN: N_("screen or paper"),
    CoverKind.OTHER: N_("something else"),
}


def cover_editor(
    *,
    key: str,
    photo_url: str,
    width: int,
    height: int,
    areas: Sequence[CoverArea] = (),
    proposals: Sequence[CoverArea] = (),
    crop: Crop | None = None,
    revision: int,
    height_px: int = 640,
    on_edit: Callable[[CoverEditorValue], None] | None = None,
) -> CoverEditorValue | None:
    """Mount the editor; call it inside a fragment, always with the same key for the same photo.

    Parameters
    ----------
    key : str
        Names this editor in the session.
    photo_url : str
        Where the browser fetches the picture, which may be a reduced copy; never a data URL.
    width, height : int
        Of the upright photo in its own pixels: the frame of all areas.
    areas, proposals : sequence of CoverArea
        What is covered already, and what a detector proposes for the person to accept or remove.
    crop : Crop or None
        The part to keep.
    revision : int
        The browser adopts `areas`, `proposals` and `crop` when this number changes. Give a new one whenever Python
        itself changed them, and only then.
    height_px : int
        Height of the photo's stage; less on small screens.
    on_edit : callable or None
        Called with each new edit before the script runs again.

    Returns
    -------
    CoverEditorValue or None
        None where the person has edited nothing since `revision`.

    Raises
    ------
    ValueError
        For a size that is not above 0, or more areas than the editor takes.
    """
    if width <= 0 or height <= 0:
        raise ValueError(f"a photo's width and height must be above 0, got {width} and {height}")
    if len(areas) + len(proposals) > MAX_AREAS:
        raise ValueError(f"at most {MAX_AREAS} covers can be edited, got {len(areas) + len(proposals)}")

    def current() -> CoverEditorValue | None:
        raw = st.session_state.get(key)
        sent = raw.get("edit") if isinstance(raw, Mapping) else None
        value = read_value(sent, width=width, height=height, areas=areas, proposals=proposals, crop=crop)
        return None if value is None or (value.fault is None and value.revision != revision) else value

    def edited() -> None:
        value = current()
        if on_edit is not None and value is not None:
            on_edit(value)

    now = current()
    known = {**{area: f"p{i}" for i, area in enumerate(proposals)}, **{area: f"a{i}" for i, area in enumerate(areas)}}
    shown = now or CoverEditorValue(areas=tuple(areas), proposals=tuple(proposals), crop=crop, revision=0, edit=0)
    data: dict[str, Any] = {
        "language": language(),
        "words": browser_words(),
        "photo": {"url": photo_url, "width": width, "height": height},
        "revision": revision,
        "edit": shown.edit,
        "heightPx": height_px,
        "kinds": [{"id": str(kind), "name": _(name), "within": _(_WITHIN[kind])} for kind, name in KIND_WORDS.items()],
        "areas": [
            *(_payload(area, known.get(area), is_open=True) for area in shown.proposals),
            *(_payload(area, known.get(area), is_open=False) for area in shown.areas),
        ],
        "crop": None if shown.crop is None else list(shown.crop),
        "margin": MARGIN_PX,
        "colour": "rgb({}, {}, {})".format(*COVER_COLOUR),
        "smallest": SMALLEST_SIDE_PX,
        "smallestCrop": MIN_SIDE,
        "most": MAX_AREAS,
        "fault": shown.fault,
    }
    _renderer()(key=key, data=data, on_edit_change=edited)
    return now


def _payload(area: CoverArea, source: str | None, *, is_open: bool) -> dict[str, Any]:
    return {
        "from": source,
        "kind": str(area.kind),
        "shape": str(area.shape),
        "x": area.x,
        "y": area.y,
        "w": area.width,
        "h": area.height,
        "turn": area.turn_deg,
        "why": _(area.why),
        "open": is_open,
    }


def _renderer() -> Any:
    """Register at every call: the registry belongs to the running server, and the same definition twice is no news."""
    return st.components.v2.component(_COMPONENT, html=assets.html(), css=assets.css(), js=assets.js())
