"""A screen that holds nothing but the cover editor: what tests/screens/test_cover_editor.py drives in a browser."""

import json
from dataclasses import asdict

import streamlit as st

from screens.cover_editor import CoverEditorValue, cover_editor
from vision.covering.areas import CoverArea, CoverKind, CoverShape

WIDTH, HEIGHT = 1280, 960
PROPOSED = CoverArea(
    kind=CoverKind.FACE,
    shape=CoverShape.ELLIPSE,
    x=1142,
    y=281,
    width=349,
    height=414,
    turn_deg=-33,
    why="A face that is not the one being measured.",
    by="face finder",
)
CARD = CoverArea(kind=CoverKind.NAME, shape=CoverShape.RECTANGLE, x=400, y=200, width=200, height=100, turn_deg=0)


def report(value: CoverEditorValue | None) -> None:
    """What came back, for the test to read."""
    text = None if value is None else {**asdict(value), "saved": st.session_state.get("saved", 0)}
    st.code(json.dumps(text), language=None)


def saved(_value: CoverEditorValue) -> None:
    st.session_state["saved"] = st.session_state.get("saved", 0) + 1


def editor() -> None:
    st.session_state.setdefault("revision", 1)
    wants = st.query_params
    again = st.session_state["revision"] > 1
    value = cover_editor(
        key="covers",
        photo_url="/photos/photo.jpg",
        width=WIDTH,
        height=HEIGHT,
        areas=[CARD] if wants.get("card") or again else [],
        proposals=[PROPOSED] if wants.get("proposal") else [],
        revision=st.session_state["revision"],
        on_edit=saved,
    )
    if wants.get("bare"):
        return
    report(value)
    if st.button("New revision"):
        st.session_state["revision"] += 1
        st.rerun(scope="fragment")
    st.button("Run again")


if __name__ == "__main__":
    st.set_page_config(layout="wide", page_title="cover editor under test")
    st.fragment(editor)()
