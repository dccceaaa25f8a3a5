"""All measures together: a value with an interval or a reason, never NaN, and the same whatever the picture's frame."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from doll_drawing import doll_landmarks
from hypothesis import given, settings
from hypothesis import strategies as st
from skimage.transform import SimilarityTransform

from vision.landmarks import LANDMARK_IDS, BodyView, HeadYaw, LandmarkSet, Point, Scale, Visibility
from vision.measures import (
    MEASURE_NAMES,
    UNITS,
    VERSION,
    Measure,
    NotMeasurable,
    face_size,
    measure_all,
    measure_to_json,
    with_default_sigmas,
)
from vision.quantities.default_sigmas import sigma_px
from vision.quantities.results import measured

numbers = st.one_of(
    st.floats(-50, 4000),
    st.sampled_from([0.0, 1.0, 100.0, 100.0000001, 1e5, -1e5]),
    st.floats(allow_nan=False, allow_infinity=False),
)
sigmas = st.one_of(st.none(), st.floats(1e-300, 1e300), st.floats(0.1, 30))
any_point = st.builds(
    Point, x=numbers, y=numbers, sigma=sigmas, visibility=st.sampled_from([Visibility.HIDDEN, Visibility.SEEN])
)
any_set = st.builds(
    LandmarkSet,
    points=st.dictionaries(st.sampled_from(LANDMARK_IDS), any_point),
    head_yaw=st.none() | st.builds(HeadYaw, deg=st.floats(0, 180), sigma_deg=st.floats(1e-3, 100)),
    camera_elevation_deg=st.none() | st.floats(-90, 90),
    body_view=st.sampled_from(BodyView),
    scale=st.none() | st.builds(Scale, mm_per_pixel=st.floats(1e-6, 1e6), sigma=st.floats(0, 1e6)),
)


@settings(max_examples=400)
@given(landmarks=any_set)
def test_any_points_give_a_finite_value_in_its_interval_or_a_reason(landmarks: LandmarkSet) -> None:
    results = measure_all(landmarks)
    assert tuple(results) == MEASURE_NAMES
    for name, result in [*results.items(), ("face_size", face_size(landmarks))]:
        assert result.name == name
        assert result.unit == UNITS.get(name, "px")
        if isinstance(result, NotMeasurable):
            assert result.reason.endswith(".")
            assert ". " not in result.reason
        else:
            assert all(math.isfinite(number) for number in (result.value, result.low, result.high, result.sd))
            assert result.low <= result.value <= result.high
    json.dumps({name: measure_to_json(result) for name, result in results.items()}, allow_nan=False)


LIMITS = {"gape_angle": (0, 180), "alignment_angle": (0, 180), "head_deviation": (-180, 180), "areola_balance": (0, 1)}


@given(landmarks=any_set)
def test_no_interval_leaves_what_is_possible(landmarks: LandmarkSet) -> None:
    for name, result in measure_all(landmarks).items():
        if isinstance(result, Measure):
            low, high = LIMITS.get(name, (0, math.inf))
            assert low <= result.low <= result.high <= high


@given(
    scale=st.floats(0.3, 2.5),
    turn=st.floats(-3.2, 3.2),
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    mirror=st.booleans(),
)
def test_measures_are_unchanged_by_shift_turn_scale_and_mirror(
    scale: float, turn: float, shift: tuple[float, float], mirror: bool
) -> None:
    """Millimetres too, where the scale follows: a photo of half the size has twice the millimetres a pixel."""
    plain = doll_landmarks()
    move = SimilarityTransform(scale=scale, rotation=turn, translation=shift)
    points = np.array([(point.x, point.y) for point in plain.points.values()]) * ([-1, 1] if mirror else [1, 1])
    moved = {name: Point(x=x, y=y) for name, (x, y) in zip(plain.points, move(points), strict=True)}
    before = measure_all(LandmarkSet(points=plain.points, head_yaw=plain.head_yaw, scale=Scale(mm_per_pixel=0.3)))
    after = measure_all(LandmarkSet(points=moved, head_yaw=plain.head_yaw, scale=Scale(mm_per_pixel=0.3 / scale)))
    for name, result in before.items():
        other = after[name]
        assert isinstance(result, Measure)
        assert isinstance(other, Measure)
        expected = (result.value, result.low, result.high, result.sd)
        assert (other.value, other.low, other.high, other.sd) == pytest.approx(expected, rel=1e-5, abs=1e-5)


def test_the_same_points_give_the_same_numbers_to_the_last_digit() -> None:
    assert measure_all(doll_landmarks()) == measure_all(doll_landmarks())
    assert VERSION == "2"


def test_filling_in_the_default_sigmas_first_changes_nothing() -> None:
    assert measure_all(with_default_sigmas(doll_landmarks())) == measure_all(doll_landmarks())


def test_every_measure_of_a_whole_doll_goes_by_its_own_name_and_unit() -> None:
    landmarks = replace(doll_landmarks(), scale=Scale(mm_per_pixel=0.3))
    for name, result in measure_all(landmarks).items():
        assert isinstance(result, Measure), result
        assert (result.name, result.unit) == (name, UNITS[name])


def test_numbers_that_are_none_are_told_as_a_reason_under_the_measures_name() -> None:
    for value, sd in ((math.nan, 1.0), (1.0, math.inf), (1e308, 1e308)):
        assert measured("nose_gap", value, sd) == NotMeasurable(
            name="nose_gap", unit="% of face size", reason="The points lie where this cannot be worked out."
        )


def test_json_has_numbers_or_a_reason_and_never_both() -> None:
    results = measure_all(doll_landmarks())
    gape, opening = measure_to_json(results["gape_angle"]), measure_to_json(results["mouth_opening"])
    assert set(gape) == set(opening) == {"value", "low", "high", "unit", "reason"}
    assert (gape["reason"], opening["value"], opening["low"], opening["high"]) == (None, None, None, None)
    assert (gape["unit"], opening["unit"]) == ("deg", "mm")
    assert set(UNITS) == set(results)


@pytest.mark.parametrize(
    "bad",
    [
        {"value": math.nan},
        {"value": 5.0, "low": 6.0, "high": 7.0},
        {"value": 5.0, "low": 1.0, "high": 4.0},
        {"sd": math.inf},
        {"sd": -1.0},
    ],
)
def test_a_measure_that_is_no_measure_cannot_be_made(bad: dict[str, float]) -> None:
    plain = {"value": 5.0, "low": 4.0, "high": 6.0, "sd": 1.0}
    with pytest.raises(ValueError, match="gape_angle"):
        Measure(name="gape_angle", unit="deg", **(plain | bad))


def test_intervals_reach_1_96_standard_deviations_and_are_cut_at_the_limits() -> None:
    result = measured("gape_angle", 100, 10, low=0, high=180)
    assert isinstance(result, Measure)
    assert (result.low, result.high) == pytest.approx((80.4, 119.6))
    cut = measured("gape_angle", 175, 10, low=0, high=180)
    assert isinstance(cut, Measure)
    assert (cut.low, cut.high, cut.sd) == pytest.approx((155.4, 180, 10))


def sigma(landmarks: LandmarkSet, name: str) -> float:
    found = with_default_sigmas(landmarks).points[name].sigma
    assert found is not None
    return found


def test_default_sigmas_follow_the_face_size_seen_from_the_side() -> None:
    """1.8 % of F; ear, shoulder, hip COCO's σ·√area/√2 with √area = 3.6 F."""
    points = {name: Point(x=100, y=100) for name in ("chin", "shoulder", "hip")}
    points |= {"nose_tip": Point(x=400, y=100), "ear": Point(x=100, y=100)}
    for yaw in (None, HeadYaw(deg=90, sigma_deg=8)):
        landmarks = LandmarkSet(points=points, head_yaw=yaw)
        assert sigma(landmarks, "chin") == pytest.approx(0.018 * 300)
        for name, share in (("ear", 0.035), ("shoulder", 0.079), ("hip", 0.107)):
            assert sigma(landmarks, name) == pytest.approx(share * 3.6 * 300 / math.sqrt(2))


def test_default_sigmas_of_a_turned_head_follow_its_true_face_size() -> None:
    points = {"nose_tip": Point(x=400, y=100), "ear": Point(x=100, y=100)}
    turned = LandmarkSet(points=points, head_yaw=HeadYaw(deg=60, sigma_deg=0.01))
    face = 300 / (math.sin(math.radians(60)) + 0.8 * math.cos(math.radians(60)))
    assert sigma(turned, "nose_tip") == pytest.approx(0.018 * face, rel=1e-5)


def test_a_direction_chosen_by_eye_is_drawn_back_towards_the_side_view_for_the_face_size() -> None:
    """By 15² / (15² + 8²): from 60° to 66.64°, from 110° to 105.57°."""
    points = {"nose_tip": Point(x=400, y=100), "ear": Point(x=100, y=100)}
    for said, likely in ((60, 66.644), (110, 105.571), (90, 90)):
        turned = LandmarkSet(points=points, head_yaw=HeadYaw(deg=said, sigma_deg=8))
        face = 300 / (math.sin(math.radians(likely)) + 0.8 * math.cos(math.radians(likely)))
        assert sigma(turned, "nose_tip") == pytest.approx(0.018 * face, rel=1e-4)


@pytest.mark.parametrize(
    ("points", "scale", "face"),
    [
        ({"mouth_corner": (0, 0), "upper_lip_edge": (60, 0), "lower_lip_edge": (0, 40)}, None, 240),
        ({"mouth_corner": (0, 0), "upper_lip_edge": (30, 0), "lower_lip_edge": (0, 50)}, None, 200),
        ({"shoulder": (0, 0), "hip": (0, 480), "chin": (0, 0)}, None, 200),
        ({"chin": (0, 0)}, Scale(mm_per_pixel=0.25), 300),
        ({"areola_above": (0, 0), "upper_lip_edge": (30, 40)}, None, 50),
    ],
)
def test_without_nose_and_ear_the_face_size_is_guessed_from_what_is_there(
    points: dict[str, tuple[float, float]], scale: Scale | None, face: float
) -> None:
    landmarks = LandmarkSet(points={name: Point(x=x, y=y) for name, (x, y) in points.items()}, scale=scale)
    name = next(name for name in points if name not in ("shoulder", "hip"))
    assert sigma(landmarks, name) == pytest.approx(0.018 * face)


@pytest.mark.parametrize(("said", "counts"), [(40, 55), (55, 55), (100, 100), (120, 120), (150, 120)])
def test_default_sigmas_take_a_direction_outside_the_domain_at_its_nearer_end(said: float, counts: float) -> None:
    points = {"nose_tip": Point(x=400, y=100), "ear": Point(x=100, y=100)}
    turn = math.radians(counts)
    face = 300 / (math.sin(turn) + 0.8 * math.cos(turn))
    turned = LandmarkSet(points=points, head_yaw=HeadYaw(deg=said, sigma_deg=0.01))
    assert sigma(turned, "nose_tip") == pytest.approx(0.018 * face, rel=1e-5)


def test_a_point_alone_has_no_size_to_take_a_share_of_and_counts_with_one_pixel() -> None:
    marks = {"scale_a": Point(x=0, y=900), "scale_b": Point(x=700, y=900)}  # a card is no part of the baby
    for others in ({}, marks):
        alone = LandmarkSet(points={"chin": Point(x=5, y=5), **others})
        assert with_default_sigmas(alone) == alone
    assert sigma_px(Point(x=5, y=5)) == 1
    assert sigma_px(Point(x=5, y=5, sigma=3)) == 3


def test_given_sigmas_are_kept_and_a_guess_doubles_only_the_default() -> None:
    points = {
        "nose_tip": Point(x=300, y=0, sigma=2, visibility=Visibility.HIDDEN),
        "ear": Point(x=0, y=0),
        "chin": Point(x=250, y=100, visibility=Visibility.HIDDEN),
        "mouth_corner": Point(x=240, y=60),
    }
    landmarks = LandmarkSet(points=points)
    assert sigma(landmarks, "nose_tip") == 2
    assert sigma(landmarks, "chin") == pytest.approx(2 * sigma(landmarks, "mouth_corner"))


def test_a_smaller_sigma_of_ones_own_narrows_every_interval() -> None:
    loose = measure_all(doll_landmarks())
    tight_points = {name: Point(x=point.x, y=point.y, sigma=0.5) for name, point in doll_landmarks().points.items()}
    tight = measure_all(LandmarkSet(points=tight_points, head_yaw=doll_landmarks().head_yaw))
    for name in ("gape_angle", "alignment_angle", "nose_gap", "areola_balance"):
        assert tight[name].sd < loose[name].sd  # type: ignore[union-attr]


def test_points_far_outside_any_photo_leave_the_face_without_a_size_in_pixels() -> None:
    edge = {"nose_tip": Point(x=1_000_000, y=0, sigma=1), "ear": Point(x=999_900, y=0, sigma=1)}
    assert isinstance(face_size(LandmarkSet(points=edge)), Measure)
    at_edge = LandmarkSet(points=edge | {"breast_at_nose": Point(x=999_990, y=-1_000_000, sigma=1)})
    assert isinstance(measure_all(at_edge)["nose_gap"], Measure)
    beyond = edge | {"nose_tip": Point(x=1_000_001, y=0, sigma=1)}
    reason = "A point lies far outside any photo."
    assert face_size(LandmarkSet(points=beyond)) == NotMeasurable(name="face_size", unit="px", reason=reason)
    assert {result.reason for result in measure_all(LandmarkSet(points=beyond)).values()} == {reason}


@pytest.mark.parametrize(("x", "y"), [(1_000_001, 0), (0, 1_000_001), (-1_000_001, 0), (0, -1_000_001)])
def test_one_point_far_outside_refuses_every_measure_each_in_its_own_unit(x: float, y: float) -> None:
    results = measure_all(doll_landmarks().with_points({"chin": Point(x=x, y=y)}))
    reason = "A point lies far outside any photo."
    assert results == {name: NotMeasurable(name=name, unit=unit, reason=reason) for name, unit in UNITS.items()}


@pytest.mark.parametrize(
    ("points", "listed"),
    [
        (("mouth_corner", "upper_lip_edge", "lower_lip_edge"), "mouth corner, upper lip and lower lip"),
        (("upper_lip_edge", "lower_lip_edge"), "upper lip and lower lip"),
        (("lower_lip_edge",), "lower lip"),
    ],
)
def test_what_is_not_placed_is_listed_as_one_would_say_it(points: tuple[str, ...], listed: str) -> None:
    assert measure_all(doll_landmarks().without(points))["gape_angle"].reason == f"Not placed: {listed}."  # type: ignore[union-attr]


def test_a_face_too_small_for_how_sure_its_points_are_refuses_what_is_a_share_of_it() -> None:
    """σ_n = √(5² + 5²) = 7.07: at 14 px the nose tip lies within 2 σ_n of the ear, at 15 px it does not."""
    for apart, refused in ((14, True), (15, False)):
        points = {"nose_tip": Point(x=apart, y=0, sigma=5), "ear": Point(x=0, y=0, sigma=5)}
        points |= {"breast_at_nose": Point(x=apart + 9, y=0, sigma=5)}
        landmarks = LandmarkSet(points=points, head_yaw=HeadYaw(deg=90, sigma_deg=5))
        for result in (face_size(landmarks), measure_all(landmarks)["nose_gap"]):
            assert isinstance(result, NotMeasurable) is refused
            if isinstance(result, NotMeasurable):
                assert result.reason == (
                    "Ear and nose tip lie too close together to tell how large the face is and which way it points."
                )


def test_the_face_size_says_its_name_unit_and_that_the_head_direction_is_not_known() -> None:
    """Seen from the side F is the distance of nose tip and ear itself, and never below 0 however unsure the points are."""
    points = {"nose_tip": Point(x=100, y=0, sigma=35), "ear": Point(x=0, y=0, sigma=35)}
    size = face_size(LandmarkSet(points=points))
    assert isinstance(size, Measure)
    assert (size.name, size.unit, size.low, len(size.notes)) == ("face_size", "px", 0, 1)
    assert size.value == pytest.approx(100)
    known = face_size(LandmarkSet(points=points, head_yaw=HeadYaw(deg=90, sigma_deg=5, by="student")))
    assert isinstance(known, Measure)
    assert known.notes == ()
    absent = NotMeasurable(name="face_size", unit="px", reason="Not placed: ear.")
    assert face_size(LandmarkSet(points={"nose_tip": points["nose_tip"]})) == absent
