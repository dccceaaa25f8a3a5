"""Mounts the script of the frame, with the words that it says; once a run, at the foot of every page."""

from functools import cache
from pathlib import Path

import streamlit as st

from screens.language import _

_JS_FILES = ("dressing.js", "focus.js", "frame.js")


def mount() -> None:
    """Name what the page's own markup leaves without a name, and keep the focus over reruns."""
    words = {
        "skip": _("Skip to the content"),
        "pages": _("Pages"),
        "openPages": _("Show the pages"),
        "closePages": _("Hide the pages"),
        "moves": _("moves sideways"),
        "program": "Latch and Line",
    }
    st.components.v2.component("latch_and_line_frame", js=_js())(key="frame", data=words, height="content")


@cache
def _js() -> str:
    """The scripts in order, as one module; only frame.js exports."""
    return "\n".join((Path(__file__).parent / name).read_text(encoding="utf-8") for name in _JS_FILES)
