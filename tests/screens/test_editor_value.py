"""What the browser sends is read with suspicion: nonsense is named and leaves everything as it was."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.answers import Spot
from screens.editor.reading import read_value
from screens.editor.value import EditorValue, Pin
from vision.landmarks import LANDMARK_IDS, HeadYaw, LandmarkSet, Point, Visibility

BASE = LandmarkSet(
    points={"ear": Point(x=610, y=430, sigma=12, by="pose model"), "chin": Point(x=860.5, y=700.25)},
    head_yaw=HeadYaw(deg=84, sigma_deg=6, by="pose model"),
)
PINS = {"nose_free": Pin(spot=Spot(x=0.5, y=0.5), short="1", label="nose free")}


def read(sent: object) -> EditorValue | None:
    return read_value(sent, width=1600, height=1200, base=BASE, base_pins=PINS, base_box=(1, 2, 3, 4))


def sent(**changes: Any) -> dict[str, Any]:
    point = {"x": 0.5, "y": 0.25, "v": 2, "by": "student"}
    return {"edit": 7, "revision": 3, "points": {"hip": point}, "pins": {}, "box": None, "yaw": None, **changes}


def test_shares_of_the_photo_become_pixels() -> None:
    value = read(
        sent(box=[0.25, 0.5, 0.5, 0.25], pins={"close": {"x": 0.1, "y": 0.9}}, yaw={"deg": 75, "by": "student"})
    )
    assert value is not None
    assert value.fault is None
    assert (value.edit, value.revision) == (7, 3)
    assert value.landmarks.points == {"hip": Point(x=800, y=300)}
    assert value.landmarks.head_yaw == HeadYaw(deg=75, sigma_deg=8)
    assert value.box == (400, 600, 800, 300)
    assert value.pins == {"close": Spot(x=0.1, y=0.9)}


def test_a_point_that_nobody_moved_keeps_its_maker_and_its_sigma() -> None:
    points = {"ear": {"x": 610 / 1600, "y": 430 / 1200, "v": 2, "by": "pose model"}}
    value = read(sent(points=points, yaw={"deg": 84, "by": "pose model"}))
    assert value is not None
    assert value.landmarks.points["ear"] == BASE.points["ear"]
    assert value.landmarks.head_yaw == BASE.head_yaw


@pytest.mark.parametrize("by", ["reference", "pose model", "", None, 7])
def test_a_point_that_was_moved_is_the_students_whatever_the_browser_says(by: object) -> None:
    value = read(sent(points={"ear": {"x": 0.5, "y": 0.25, "v": 1, "by": by}}))
    assert value is not None
    assert value.landmarks.points["ear"] == Point(x=800, y=300, visibility=Visibility.HIDDEN, by="student")


NONSENSE: list[object] = [
    [],
    "text",
    7,
    {},
    sent(points=None),
    sent(points={"knee": {"x": 0.5, "y": 0.5, "v": 2}}),
    sent(points={"hip": None}),
    sent(points={"hip": {"x": 1.01, "y": 0.5, "v": 2}}),
    sent(points={"hip": {"x": float("nan"), "y": 0.5, "v": 2}}),
    sent(points={"hip": {"x": 10**400, "y": 0.5, "v": 2}}),
    sent(points={"hip": {"x": "0.5", "y": 0.5, "v": 2}}),
    sent(points={"hip": {"x": True, "y": 0.5, "v": 2}}),
    sent(points={"hip": {"x": 0.5, "y": 0.5, "v": 0}}),
    sent(points={"hip": {"x": 0.5, "y": 0.5, "v": [2]}}),
    sent(edit=-1),
    sent(edit=2**60),
    sent(edit="7"),
    sent(revision=1.5),
    sent(yaw={"deg": 200}),
    sent(yaw={"deg": -(10**400)}),
    sent(yaw="side"),
    sent(pins=[1]),
    sent(pins={"a": {"x": 2, "y": 0}}),
    sent(pins={"a": {"x": 0, "y": 10**400}}),
    sent(pins={str(i): {"x": 0.5, "y": 0.5} for i in range(65)}),
    sent(pins={"a" * 65: {"x": 0.5, "y": 0.5}}),
    sent(box=[0, 0, 1]),
    sent(box=[0.9, 0.9, 0.2, 0.05]),
    sent(box=[0.1, 0.1, 0, 0.5]),
    sent(box={"x": 1}),
    sent(box=[0, 0, 10**400, 1]),
]


@pytest.mark.parametrize("nonsense", NONSENSE, ids=range(len(NONSENSE)))
def test_nonsense_is_named_in_one_sentence_and_changes_nothing(nonsense: object) -> None:
    value = read(nonsense)
    assert value is not None
    assert value.fault is not None
    assert value.fault.startswith("the browser sent ")
    assert value.landmarks == BASE
    assert value.pins == {"nose_free": Spot(x=0.5, y=0.5)}
    assert value.box == (1, 2, 3, 4)


def test_nothing_sent_is_no_edit() -> None:
    assert read(None) is None


_SHARE = st.floats(0, 1)
_POINT = st.fixed_dictionaries({"x": _SHARE, "y": _SHARE, "v": st.sampled_from([1, 2]), "by": st.just("student")})


@given(points=st.dictionaries(st.sampled_from(LANDMARK_IDS), _POINT))
def test_every_place_on_the_photo_is_kept_to_a_hundredth_of_a_pixel(points: dict[str, dict[str, Any]]) -> None:
    value = read(json.loads(json.dumps(sent(points=points))))
    assert value is not None
    assert value.fault is None
    for name, point in points.items():
        kept = value.landmarks.points[name]
        assert abs(kept.x - point["x"] * 1600) <= 0.02
        assert abs(kept.y - point["y"] * 1200) <= 0.02


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


@given(
    anything=_JSON
    | st.fixed_dictionaries({"edit": _JSON, "revision": _JSON, "points": _JSON, "box": _JSON, "pins": _JSON})
)
def test_whatever_arrives_the_reader_answers_and_never_raises(anything: object) -> None:
    value = read(anything)
    assert value is None or value.fault is not None or set(value.landmarks.points) <= set(LANDMARK_IDS)
