"""Boxes, merging of detectors, and what a proposal may do to a person's own points."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vision.detect import Box, Detection, add_proposals, merge
from vision.errors import InvalidLandmarks
from vision.landmarks import LANDMARK_IDS, BodyView, GapeReading, HeadYaw, LandmarkSet, Point, Scale

BLANK = np.zeros((8, 8, 3), np.uint8)


def detection(*, notes: tuple[str, ...] = (), view: BodyView = BodyView.UNKNOWN, **points: Point) -> Detection:
    return Detection(landmarks=LandmarkSet(points=points, body_view=view), notes=notes)


@pytest.mark.parametrize("size", [(0, 5), (5, 0), (-1, 5), (math.inf, 5), (5, math.nan)])
def test_a_box_without_a_size_is_refused(size: tuple[float, float]) -> None:
    with pytest.raises(InvalidLandmarks, match="a box"):
        Box(x=1, y=2, width=size[0], height=size[1])


def test_a_box_at_no_finite_place_is_refused() -> None:
    with pytest.raises(InvalidLandmarks, match="finite"):
        Box(x=math.nan, y=2, width=3, height=4)


def test_the_surest_detector_wins_each_point_and_keeps_its_name() -> None:
    rough = detection(ear=Point(x=10, y=10, sigma=9, by="a"), hip=Point(x=50, y=50, sigma=3, by="a"), notes=("one",))
    fine = detection(ear=Point(x=12, y=10, sigma=2, by="b"), notes=("two", "one"))
    found = merge([rough, fine])
    assert found.landmarks.points["ear"] == Point(x=12, y=10, sigma=2, by="b")
    assert found.landmarks.points["hip"].by == "a"
    assert found.notes == ("one", "two")


def test_detectors_that_contradict_each_other_widen_the_sigma_to_their_distance() -> None:
    found = merge(
        [detection(chin=Point(x=0, y=0, sigma=1, by="a")), detection(chin=Point(x=30, y=40, sigma=2, by="b"))]
    )
    point = found.landmarks.points["chin"]
    assert (point.x, point.y, point.by) == (0, 0, "a")
    # 50 px apart is 50/√2 a coordinate.
    assert point.sigma == pytest.approx(50 / math.sqrt(2))


def test_a_point_without_a_sigma_never_beats_one_that_has_one() -> None:
    found = merge([detection(chin=Point(x=0, y=0, by="a")), detection(chin=Point(x=1, y=0, sigma=80, by="b"))])
    assert found.landmarks.points["chin"].by == "b"


def test_a_body_view_that_two_detectors_dispute_is_unknown() -> None:
    turned, side, unsaid = detection(view=BodyView.TURNED), detection(view=BodyView.SIDE), detection()
    assert merge([turned, unsaid]).landmarks.body_view == BodyView.TURNED
    assert merge([turned, side]).landmarks.body_view == BodyView.UNKNOWN


def test_the_surest_head_yaw_is_taken() -> None:
    rough, fine = HeadYaw(deg=40, sigma_deg=9, by="a"), HeadYaw(deg=30, sigma_deg=3, by="b")
    both = merge([Detection(landmarks=LandmarkSet(head_yaw=yaw)) for yaw in (rough, None, fine)])
    assert both.landmarks.head_yaw == fine


def test_the_cameras_height_is_that_of_the_one_who_tells_it() -> None:
    both = merge([Detection(landmarks=LandmarkSet(camera_elevation_deg=height)) for height in (None, 12.0)])
    assert both.landmarks.camera_elevation_deg == 12.0


def test_the_surest_reading_of_the_gape_is_taken_and_a_persons_stays() -> None:
    rough, fine = (GapeReading(deg=deg, sigma_deg=sigma, by=by) for deg, sigma, by in ((90, 20, "a"), (80, 8, "b")))
    merged = merge([Detection(landmarks=LandmarkSet(gape=gape)) for gape in (rough, None, fine)]).landmarks
    assert merged.gape == fine
    assert add_proposals(LandmarkSet(), merged).gape == fine
    assert add_proposals(LandmarkSet(gape=rough), merged).gape == rough


points = st.builds(
    Point,
    x=st.floats(-1e4, 1e4),
    y=st.floats(-1e4, 1e4),
    sigma=st.floats(0.1, 1e3) | st.none(),
    by=st.sampled_from(["student", "net"]),
)
sets = st.builds(
    LandmarkSet,
    points=st.dictionaries(st.sampled_from(LANDMARK_IDS), points),
    head_yaw=st.builds(HeadYaw, deg=st.floats(0, 180), sigma_deg=st.floats(1, 20)) | st.none(),
    camera_elevation_deg=st.floats(-40, 40) | st.none(),
    body_view=st.sampled_from(BodyView),
    scale=st.builds(Scale, mm_per_pixel=st.floats(0.01, 10)) | st.none(),
)


@given(own=sets, proposed=sets)
def test_a_proposal_changes_nothing_that_a_person_has_said(own: LandmarkSet, proposed: LandmarkSet) -> None:
    filled = add_proposals(own, proposed)
    for name, point in own.points.items():
        assert filled.points[name] == point
    for value in ("head_yaw", "camera_elevation_deg", "scale"):
        said = getattr(own, value)
        assert getattr(filled, value) == (getattr(proposed, value) if said is None else said)
    assert filled.body_view == (own.body_view or proposed.body_view)
    assert set(filled.points) == set(own.points) | set(proposed.points)


@given(first=sets, second=sets)
def test_merging_keeps_every_point_and_never_makes_one_surer(first: LandmarkSet, second: LandmarkSet) -> None:
    merged = merge([Detection(landmarks=first), Detection(landmarks=second)]).landmarks
    assert set(merged.points) == set(first.points) | set(second.points)
    for name, point in merged.points.items():
        said = [given.points[name].sigma for given in (first, second) if name in given.points]
        known = [sigma for sigma in said if sigma is not None]
        assert (point.sigma is None) == (not known)
        assert point.sigma is None or point.sigma >= min(known)
