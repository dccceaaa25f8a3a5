"""Gaps, the mouth's opening and the share of the areola: lengths with their spread, in % of the face or millimetres."""

import math
from dataclasses import replace

import numpy as np
import pytest
from head_model import FACE_PX, as_set, seen_head

from vision.landmarks import BodyView, LandmarkSet, Point, Scale, Visibility
from vision.measures import Measure, NotMeasurable, Result, face_size, measure_all


def measure(landmarks: LandmarkSet, name: str) -> Measure:
    result: Result = measure_all(landmarks)[name]
    assert isinstance(result, Measure), result
    return result


def reason(landmarks: LandmarkSet, name: str) -> str:
    result: Result = measure_all(landmarks)[name]
    assert isinstance(result, NotMeasurable), result
    return result.reason


def at_breast(
    nose_gap: float, chin_gap: float, *, psi: float = 90, sigma: float = 3, scale: Scale | None = None
) -> LandmarkSet:
    points = seen_head(gape_up=30, gape_down=50, psi=psi)
    points["chin"] = points["mouth_corner"] + 20 + 90j
    points["breast_at_nose"] = points["nose_tip"] + nose_gap
    points["breast_at_chin"] = points["chin"] + chin_gap * 1j
    return replace(as_set(points, sigma=sigma, yaw=(psi, 4)), scale=scale, body_view=BodyView.SIDE)


@pytest.mark.parametrize("psi", [65, 90, 115])
def test_the_face_size_is_the_same_from_every_side(psi: float) -> None:
    """The picture's own nose–ear distance is not: it shrinks and grows with ψ (1.31, 1, 0.59 of F at 65, 90, 115°)."""
    points = seen_head(gape_up=30, gape_down=50, psi=psi)
    result = face_size(as_set(points, sigma=2, yaw=(psi, 4)))
    assert isinstance(result, Measure)
    assert result.value == pytest.approx(FACE_PX)
    shown = abs(points["nose_tip"] - points["ear"]) / FACE_PX
    turn = math.radians(psi)
    assert shown == pytest.approx(math.sin(turn) + 0.8 * math.cos(turn))


def test_the_face_size_of_an_unknown_direction_is_unsure_by_the_directions_share() -> None:
    """At 90° dF/dψ = k·F, so 15° are 0.8 · 0.262 = 21 % of F."""
    result = face_size(as_set(seen_head(gape_up=30, gape_down=50), sigma=1))
    assert isinstance(result, Measure)
    assert result.sd / result.value == pytest.approx(0.8 * math.radians(15), rel=0.01)


@pytest.mark.parametrize("psi", [70, 90, 110])
def test_gaps_are_shares_of_the_face_size(psi: float) -> None:
    landmarks = at_breast(60, 30, psi=psi)
    assert measure(landmarks, "nose_gap").value == pytest.approx(20)
    assert measure(landmarks, "chin_gap").value == pytest.approx(10)
    assert measure(landmarks, "chin_gap").unit == "% of face size"


def test_a_gap_that_its_points_cannot_tell_from_none_reads_touching_or_nearly() -> None:
    near = measure(at_breast(8.4, 60), "nose_gap")
    touching = "Touching or nearly: the gap is smaller than what its two points can tell."
    assert (near.low, near.notes) == (0, (touching,))
    assert measure(at_breast(8.6, 60), "nose_gap").notes == ()


def test_a_gap_of_zero_keeps_the_spread_of_its_two_points() -> None:
    result = measure(at_breast(0, 60, sigma=3), "nose_gap")
    assert (result.value, result.low) == (0, 0)
    assert result.sd == pytest.approx(100 * 3 * math.sqrt(2) / FACE_PX, rel=1e-3)


def test_the_spread_of_a_gap_agrees_with_draws() -> None:
    rng, n = np.random.default_rng(8), 50_000
    landmarks = at_breast(60, 30, sigma=4, psi=80)
    at = {
        name: complex(point.x, point.y) + rng.normal(0, 4, (n, 2)) @ [1, 1j] for name, point in landmarks.points.items()
    }
    yaw, k = np.radians(rng.normal(80, 4, n)), rng.normal(0.8, 0.15, n)
    size = np.abs(at["nose_tip"] - at["ear"]) / (np.sin(yaw) + k * np.cos(yaw))
    for name, tip in (("nose_gap", "nose_tip"), ("chin_gap", "chin")):
        shares = 100 * np.abs(at[tip] - at[f"breast_at_{tip.removesuffix('_tip')}"]) / size
        assert measure(landmarks, name).sd == pytest.approx(shares.std(), rel=0.04)


def test_gaps_need_a_face_size_and_say_which_point_is_missing() -> None:
    assert reason(at_breast(60, 30).without(["ear"]), "chin_gap") == "Not placed: ear."
    assert reason(at_breast(60, 30).without(["breast_at_chin"]), "chin_gap") == "Not placed: breast by chin."
    assert reason(at_breast(60, 30, psi=140), "nose_gap").endswith("take the photo from the side.")


@pytest.mark.parametrize("name", ["nose_gap_mm", "chin_gap_mm", "mouth_opening"])
def test_millimetres_need_a_scale(name: str) -> None:
    assert reason(at_breast(60, 30), name) == (
        "No scale is known for this photo, so nothing can be said in millimetres."
    )


def test_gaps_in_millimetres_follow_the_scale_and_its_spread() -> None:
    result = measure(at_breast(60, 30, scale=Scale(mm_per_pixel=0.25, sigma=0.01)), "nose_gap_mm")
    assert result.value == pytest.approx(15)
    assert result.sd == pytest.approx(math.hypot(0.25 * 3 * math.sqrt(2), 60 * 0.01))


@pytest.mark.parametrize("name", ["nose_gap_mm", "chin_gap_mm", "mouth_opening"])
def test_a_length_in_millimetres_that_may_be_none_begins_at_zero(name: str) -> None:
    near = at_breast(2, 2, scale=Scale(mm_per_pixel=0.25))
    lip = near.points["upper_lip_edge"]
    near = near.with_points({"lower_lip_edge": replace(lip, y=lip.y + 2)})
    result = measure(near, name)
    assert result.value == pytest.approx(0.5)
    assert result.low == 0


@pytest.mark.parametrize("psi", [60, 90, 115])
def test_the_mouth_opening_is_put_right_for_the_view(psi: float) -> None:
    """Lip edges of the solid head: 80 px at 30° up, 90 px at 50° down."""
    solid = math.sqrt(80**2 + 90**2 - 2 * 80 * 90 * math.cos(math.radians(80)))
    landmarks = at_breast(60, 30, psi=psi, scale=Scale(mm_per_pixel=0.25))
    assert measure(landmarks, "mouth_opening").value == pytest.approx(0.25 * solid)


def test_without_a_known_direction_the_mouth_opening_is_the_distance_in_the_picture_and_says_so() -> None:
    seen = at_breast(60, 30, psi=70, scale=Scale(mm_per_pixel=0.25))
    upper, lower = seen.points["upper_lip_edge"], seen.points["lower_lip_edge"]
    flat = 0.25 * math.hypot(upper.x - lower.x, upper.y - lower.y)
    for landmarks in (replace(seen, head_yaw=None), seen.without(["ear"])):
        result = measure(landmarks, "mouth_opening")
        assert result.value == pytest.approx(flat)
        assert result.notes == (
            "This is the distance in the picture: set the head direction, ear and nose tip to put it right.",
        )


def test_lips_that_were_guessed_are_named_beside_the_mouths_opening() -> None:
    seen = at_breast(60, 30, scale=Scale(mm_per_pixel=0.25))
    lip = replace(seen.points["lower_lip_edge"], visibility=Visibility.HIDDEN)
    guessed = seen.with_points({"lower_lip_edge": lip})
    told = "Placed by guess, where it cannot be seen: lower lip."
    assert measure(guessed, "mouth_opening").notes == (told,)
    assert measure(guessed.without(["ear"]), "mouth_opening").notes[1:] == (told,)
    assert measure(seen, "mouth_opening").notes == ()


def test_a_closed_mouth_opens_zero_millimetres_with_the_spread_of_its_points() -> None:
    landmarks = at_breast(60, 30, scale=Scale(mm_per_pixel=0.25))
    closed = landmarks.with_points({"lower_lip_edge": landmarks.points["upper_lip_edge"]})
    result = measure(closed, "mouth_opening")
    assert (result.value, result.low) == (0, 0)
    assert result.sd == pytest.approx(0.25 * 3 * math.sqrt(2), rel=1e-3)


def areola(above: float, below: float, *, sigma: float = 2, scale: Scale | None = None) -> LandmarkSet:
    points = {
        "upper_lip_edge": Point(x=200, y=200, sigma=sigma),
        "areola_above": Point(x=200 + above, y=200, sigma=sigma),
        "lower_lip_edge": Point(x=200, y=260, sigma=sigma),
        "areola_below": Point(x=200, y=260 + below, sigma=sigma),
    }
    return LandmarkSet(points=points, scale=scale)


@pytest.mark.parametrize(("above", "below", "share"), [(30, 10, 0.75), (20, 20, 0.5), (0, 40, 0), (40, 0, 1)])
def test_the_areola_balance_is_the_share_in_sight_above(above: float, below: float, share: float) -> None:
    result = measure(areola(above, below), "areola_balance")
    assert result.value == share
    assert 0 <= result.low <= share <= result.high <= 1
    assert result.sd > 0


def test_no_areola_on_either_side_is_undefined_and_not_zero() -> None:
    for above, below in ((0, 0), (4, 3)):
        assert reason(areola(above, below), "areola_balance") == (
            "No areola is in sight beyond either lip, so there is nothing to share out."
        )


def test_an_areola_point_that_is_not_placed_is_unknown_and_not_zero() -> None:
    assert reason(areola(30, 10).without(["areola_below"]), "areola_balance") == "Not placed: areola below."


def test_with_a_scale_the_areola_lengths_are_said_in_millimetres() -> None:
    notes = measure(areola(40, 20, scale=Scale(mm_per_pixel=0.5)), "areola_balance").notes
    assert notes == ("In sight: about 20 mm above the upper lip and 10 mm below the lower one.",)
