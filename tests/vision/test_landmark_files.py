"""Landmark files: what is saved is what is read, and what strangers write is refused in one sentence."""

import json
from pathlib import Path
from typing import Any

import pytest
from doll_drawing import doll_landmarks
from hypothesis import given
from hypothesis import strategies as st

from vision.coco import coco_from_landmarks, landmarks_from_coco
from vision.errors import InvalidLandmarks
from vision.landmark_files import landmarks_from_json, landmarks_to_json, read_landmarks
from vision.landmarks import LANDMARK_IDS, BodyView, GapeReading, HeadYaw, LandmarkSet, Point, Scale, Visibility

pixels = st.floats(-1e5, 1e5)
texts = st.text(st.characters(categories=["L", "Nd"]), min_size=1, max_size=30)
points = st.builds(
    Point,
    x=pixels,
    y=pixels,
    sigma=st.none() | st.floats(1e-6, 1e5),
    visibility=st.sampled_from([Visibility.HIDDEN, Visibility.SEEN]),
    by=texts,
)
sets = st.builds(
    LandmarkSet,
    points=st.dictionaries(st.sampled_from(LANDMARK_IDS), points),
    head_yaw=st.none() | st.builds(HeadYaw, deg=st.floats(0, 180), sigma_deg=st.floats(1e-3, 180), by=texts),
    camera_elevation_deg=st.none() | st.floats(-90, 90),
    body_view=st.sampled_from(BodyView),
    scale=st.none() | st.builds(Scale, mm_per_pixel=st.floats(1e-6, 1000), sigma=st.floats(0, 1000)),
    gape=st.none() | st.builds(GapeReading, deg=st.floats(0, 180), sigma_deg=st.floats(1e-3, 180), by=texts),
)


def through_json(value: object) -> Any:
    return json.loads(json.dumps(value, allow_nan=False))


@given(landmarks=sets)
def test_a_set_saved_as_json_reads_back_equal(landmarks: LandmarkSet) -> None:
    assert landmarks_from_json(through_json(landmarks_to_json(landmarks))) == landmarks


@given(landmarks=sets)
def test_a_set_saved_as_coco_reads_back_equal(landmarks: LandmarkSet) -> None:
    coco = through_json(coco_from_landmarks(landmarks, file_name="doll.jpg", width=1600, height=1200))
    assert landmarks_from_coco(coco) == landmarks


def test_a_coco_file_has_the_parts_that_other_programs_read() -> None:
    """COCO keypoint format: keypoints = [x, y, v, …], num_keypoints = count(v > 0), bbox = [x, y, width, height]."""
    marks = {"chin": Point(x=10, y=20), "hip": Point(x=110, y=70, visibility=Visibility.HIDDEN)}
    coco = coco_from_landmarks(LandmarkSet(points=marks), file_name="doll.jpg", width=1600, height=1200)
    annotation, category = coco["annotations"][0], coco["categories"][0]
    names = category["keypoints"]
    triples = {name: tuple(annotation["keypoints"][3 * i : 3 * i + 3]) for i, name in enumerate(names)}
    assert triples["chin"] == (10, 20, 2)
    assert triples["hip"] == (110, 70, 1)
    assert {triple for name, triple in triples.items() if name not in marks} == {(0, 0, 0)}
    assert annotation["num_keypoints"] == 2
    assert (annotation["bbox"], annotation["area"]) == ([10, 20, 100, 50], 5000)
    assert coco["images"] == [{"id": 1, "file_name": "doll.jpg", "width": 1600, "height": 1200}]
    assert all(1 <= end <= len(names) for pair in category["skeleton"] for end in pair)
    assert [names[place - 1] for place in category["skeleton"][1]] == ["shoulder", "hip"]


def test_a_coco_file_of_another_program_is_read_without_the_extra_part() -> None:
    coco = coco_from_landmarks(doll_landmarks(), file_name="doll.jpg", width=1600, height=1200)
    annotation = coco["annotations"][0]
    del annotation["latch_and_line"]
    annotation["keypoints"][0] = 900
    found = landmarks_from_coco(through_json(coco))
    assert (found.points["mouth_corner"].x, found.points["mouth_corner"].sigma) == (900, None)
    assert found.head_yaw is None


def test_moved_coco_keypoints_rule_over_the_extra_part() -> None:
    coco = coco_from_landmarks(doll_landmarks(), file_name="doll.jpg", width=1600, height=1200)
    coco["annotations"][0]["keypoints"][0] = 900
    found = landmarks_from_coco(through_json(coco))
    assert found.points["mouth_corner"].x == 900
    assert found.head_yaw == doll_landmarks().head_yaw


def coco_with(change: str) -> dict[str, Any]:
    coco: dict[str, Any] = coco_from_landmarks(doll_landmarks(), file_name="doll.jpg", width=1600, height=1200)
    annotation, category = coco["annotations"][0], coco["categories"][0]
    if change == "short":
        annotation["keypoints"].pop()
    elif change == "two":
        coco["annotations"] *= 2
    elif change == "name":
        category["keypoints"][0] = "left_ear"
    elif change == "twice":
        category["keypoints"][0] = "hip"
    elif change == "count":
        annotation["num_keypoints"] = 3
    elif change == "no list":
        annotation["keypoints"] = {"x": 1}
    return coco


@pytest.mark.parametrize("change", ["short", "two", "name", "twice", "count", "no list"])
def test_a_coco_file_that_breaks_a_rule_is_refused(change: str) -> None:
    landmarks_from_coco(coco_with("nothing"))
    with pytest.raises(InvalidLandmarks):
        landmarks_from_coco(coco_with(change))


def test_the_plain_format_needs_only_x_and_y() -> None:
    found = landmarks_from_json({"landmarks": {"chin": {"x": 3, "y": 4.5}}, "head_yaw_deg": 80, "mm_per_pixel": 0.2})
    assert found.points["chin"] == Point(x=3, y=4.5, by="file")
    assert found.head_yaw == HeadYaw(deg=80, sigma_deg=8, by="file")
    assert found.scale == Scale(mm_per_pixel=0.2, sigma=0)


def test_a_set_without_a_reading_saves_as_before() -> None:
    assert "gape_reading" not in landmarks_to_json(doll_landmarks())


def test_a_point_of_visibility_0_is_not_placed() -> None:
    assert landmarks_from_json({"landmarks": {"chin": {"x": 0, "y": 0, "visibility": 0}}}) == LandmarkSet()


def at(**parts: object) -> dict[str, object]:
    return {"landmarks": {"chin": {"x": 1, "y": 2, **parts}}}


REFUSED: dict[str, tuple[object, str]] = {
    "a list": ([], "a landmark file must be a JSON object, got a list"),
    "nothing": (None, "got None"),
    "no landmarks": ({}, "landmarks must be a JSON object, got None"),
    "an unknown id": (
        {"landmarks": {"left_knee": {"x": 1, "y": 2}}},
        "unknown landmark 'left_knee'; known are mouth_corner",
    ),
    "a point that is a pair": ({"landmarks": {"chin": [1, 2]}}, "chin must be a JSON object"),
    "true as a number": (at(x=True), "chin: x must be a number, got True"),
    "text as a number": (at(y="2"), "chin: y must be a number, got '2'"),
    "NaN": (at(x=float("nan")), "chin: x must be from -1e+06 to 1e+06, got nan"),
    "infinity": (at(sigma=float("inf")), "chin: sigma must be above 0"),
    "an integer beyond all floats": (at(x=10**400), "chin: x must be from"),
    "a point without y": ({"landmarks": {"chin": {"x": 1}}}, "both x and y"),
    "sigma 0": (at(sigma=0), "sigma must be above 0"),
    "visibility 3": (at(visibility=3), "visibility must be 0, 1 or 2, got 3"),
    "visibility 1.5": (at(visibility=1.5), "visibility must be 0, 1 or 2, got 1.5"),
    "an unknown part of a point": (at(z=3), "chin has an unknown part 'z'"),
    "an unknown part of a file": ({"landmarks": {}, "head_yaw": 80}, "unknown part 'head_yaw'"),
    "yaw out of range": ({"landmarks": {}, "head_yaw_deg": 200}, "head_yaw_deg must be from 0 to 180"),
    "yaw sigma 0": (
        {"landmarks": {}, "head_yaw_deg": 80, "head_yaw_sigma_deg": 0},
        "head_yaw_sigma_deg must be above 0",
    ),
    "a negative scale": ({"landmarks": {}, "mm_per_pixel": -1}, "mm_per_pixel must be above 0"),
    "an unknown body view": (
        {"landmarks": {}, "body_view": "upside"},
        "body_view must be one of unknown, side, turned",
    ),
    "a gape without its sigma": (
        {"landmarks": {}, "gape_reading": {"deg": 80}},
        "gape_reading: both deg and sigma_deg must be numbers",
    ),
    "a gape out of range": (
        {"landmarks": {}, "gape_reading": {"deg": 181, "sigma_deg": 5}},
        "gape_reading: deg must be from 0 to 180",
    ),
    "a gape that is a number": ({"landmarks": {}, "gape_reading": 80}, "gape_reading must be a JSON object"),
    "who with a line break": (at(by="a\nb"), "chin: by must be text"),
    "who without end": (at(by="x" * 500), "chin: by must be text of 1 to 60"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_breaks_a_rule_is_refused_in_one_short_sentence(what: str) -> None:
    value, words = REFUSED[what]
    with pytest.raises(InvalidLandmarks) as caught:
        landmarks_from_json(value)
    message = str(caught.value)
    assert words in message
    assert len(message) < 400
    assert "\n" not in message
    assert ". " not in message.removesuffix(".")


FILES = {
    "text": b"not json",
    "no text": b"\xff\xfe\x00",
    "NaN": b'{"landmarks": {"chin": {"x": NaN, "y": 1}}}',
    "Infinity": b'{"landmarks": {"chin": {"x": -Infinity, "y": 1}}}',
    "a key twice": b'{"landmarks": {"chin": {"x": 1, "y": 1}, "chin": {"x": 2, "y": 1}}}',
    "endless nesting": b"[" * 100_000,
    "a huge number": b'{"landmarks": {"chin": {"x": 1' + b"0" * 5000 + b', "y": 1}}}',
    "more than a megabyte": b" " * (1024 * 1024 + 1),
}


@pytest.mark.parametrize("what", FILES)
def test_a_file_that_is_no_landmark_file_is_refused_by_name(what: str, tmp_path: Path) -> None:
    path = tmp_path / "points.json"
    path.write_bytes(FILES[what])
    with pytest.raises(InvalidLandmarks, match=r"points\.json"):
        read_landmarks(path)


@pytest.mark.parametrize("missing", ["none.json", "."])
def test_a_file_that_cannot_be_opened_is_refused(missing: str, tmp_path: Path) -> None:
    with pytest.raises(InvalidLandmarks, match="cannot be read"):
        read_landmarks(tmp_path / missing)


def test_a_saved_file_is_read_from_disk(tmp_path: Path) -> None:
    path = tmp_path / "points.json"
    path.write_text(json.dumps(landmarks_to_json(doll_landmarks())), encoding="utf-8")
    assert read_landmarks(path) == doll_landmarks()


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["x", "y", "chin", "sigma"]), inner),
    max_leaves=8,
)


@given(inside=json_values, yaw=json_values, view=json_values)
def test_whatever_json_says_it_gives_a_set_or_a_refusal(inside: object, yaw: object, view: object) -> None:
    try:
        found = landmarks_from_json({"landmarks": inside, "head_yaw_deg": yaw, "body_view": view})
    except InvalidLandmarks:
        return
    assert isinstance(found, LandmarkSet)
