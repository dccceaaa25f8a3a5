"""A screen that holds nothing but the editor: what tests/screens/test_editor_*.py drive in a browser."""

import json
import time

import streamlit as st

from rubric.answers import Spot
from screens.editor import EditorValue, Pin, PinItem, landmark_editor
from vision.landmarks import LANDMARK_IDS, HeadYaw, LandmarkSet, Point

WIDTH, HEIGHT = 1600, 1200
PROPOSED = LandmarkSet(
    points={
        "ear": Point(x=610, y=430, sigma=12, by="pose model"),
        "shoulder": Point(x=560, y=720, sigma=20, by="pose model"),
        "hip": Point(x=520, y=1080, sigma=25, by="pose model"),
    },
    head_yaw=HeadYaw(deg=84, sigma_deg=6, by="pose model"),
)
PLACED = {
    "mouth_corner": (800.0, 560.0),
    "upper_lip_edge": (880.0, 500.0),
    "lower_lip_edge": (870.0, 640.0),
    "nose_tip": (900.0, 430.0),
    "chin": (860.0, 700.0),
    "ear": (610.0, 430.0),
    "shoulder": (560.0, 720.0),
    "hip": (520.0, 1080.0),
}
FULL = LandmarkSet(points={name: Point(x=x, y=y) for name, (x, y) in PLACED.items()})
REFERENCE = LandmarkSet(points={name: Point(x=x + 14, y=y - 9, by="reference") for name, (x, y) in PLACED.items()})
STARTS = {"empty": LandmarkSet(), "proposed": PROPOSED, "full": FULL}


def ask(name: str, default: str = "") -> str:
    return st.query_params.get(name, default)


def readout(landmarks: LandmarkSet) -> dict[str, str]:
    """Numbers as Python computes them; the interval is a stand-in, the value is not."""
    from vision.measures import measure_all

    texts = {}
    for name, measure in measure_all(landmarks).items():
        value = getattr(measure, "value", None)
        if name == "head_deviation" and value is not None:
            texts[name] = f"{abs(value):.0f}° {'forward' if value > 0 else 'back'}"
        elif name in ("gape_angle", "alignment_angle"):
            texts[name] = measure.reason if value is None else f"{value:.0f}° ± {(measure.high - measure.low) / 2:.0f}°"
    if ask("storm"):
        texts["tick"] = f"revision {st.session_state['revision']}, run {time.monotonic_ns()}"
    return texts


def report(value: EditorValue | None) -> None:
    """What came back, for the test to read."""
    if value is None:
        st.code("null", language=None)
        return
    landmarks = value.landmarks
    st.code(
        json.dumps(
            {
                "points": {name: [p.x, p.y, int(p.visibility), p.by, p.sigma] for name, p in landmarks.points.items()},
                "yaw": None if landmarks.head_yaw is None else landmarks.head_yaw.deg,
                "revision": value.revision,
                "edit": value.edit,
                "pins": {name: [spot.x, spot.y] for name, spot in value.pins.items()},
                "box": value.box,
                "fault": value.fault,
                "saved": st.session_state.get("saved", 0),
            }
        ),
        language=None,
    )


def saved(_value: EditorValue) -> None:
    st.session_state["saved"] = st.session_state.get("saved", 0) + 1


def editor() -> None:
    mode = ask("mode", "points")
    st.session_state.setdefault("revision", 1)
    if ask("rises"):
        runs = st.session_state["runs"] = st.session_state.get("runs", 0) + 1
        st.session_state["revision"] = 1 if runs < 30 else 2
    start = STARTS[ask("start", "empty")]
    if st.session_state["revision"] > 1:
        start = PROPOSED
    blind = bool(ask("blind")) or bool(st.session_state.get("blind"))
    item = PinItem(id="chin_touch", label="Chin <b>touches</b> the breast", short="3") if mode == "pins" else None
    pins = {}
    if mode != "points":
        pins["nose_free"] = Pin(spot=Spot(x=0.56, y=0.36), short="4", label="Nose free")
    if mode == "look":
        pins["key"] = Pin(spot=Spot(x=0.6, y=0.38), short="4", label="Nose free, reference", of_reference=True)
    value = landmark_editor(
        key=f"editor-{'second' if blind else 'first'}",
        photo_url="/photos/practice.jpg",
        width=WIDTH,
        height=HEIGHT,
        landmarks=LandmarkSet() if blind else start,
        revision=st.session_state["revision"],
        mode=mode,  # type: ignore[arg-type]
        ask=[] if mode == "look" else [name for name in LANDMARK_IDS if not name.startswith("scale")],
        readout=readout,
        blind=blind,
        pins=pins,
        pin_item=item,
        ask_box=mode != "look",
        reference=REFERENCE if mode == "look" else None,
        compare_url="/photos/before.jpg" if ask("two") else None,
        compare_label="Before the latch",
        photo_label="At the breast" if ask("two") else "",
        height_px=int(ask("high", "640")),
        on_edit=saved,
    )
    if ask("bare"):
        return
    report(value)
    columns = st.columns(3)
    if columns[0].button("Propose points"):
        st.session_state["revision"] += 1
        st.rerun(scope="fragment")
    if columns[1].button("Second round"):
        st.session_state["blind"] = True
        st.rerun(scope="fragment")
    columns[2].button("Run again")
    if st.button("In German"):
        st.session_state["language"] = "de"
        st.rerun(scope="fragment")


if __name__ == "__main__":
    st.set_page_config(layout="wide", page_title="editor under test")
    st.fragment(editor, run_every=0.15 if ask("storm") else None)()
