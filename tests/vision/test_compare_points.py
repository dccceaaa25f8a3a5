"""Own points against the reference, a first round against a second, and two ruler points against a length."""

import numpy as np
import pytest
from doll_drawing import doll_landmarks

from vision.compare import OwnSigma, PointDifference, own_sigma, point_differences
from vision.errors import InvalidLandmarks
from vision.landmarks import LANDMARK_IDS, HeadYaw, LandmarkSet, Point
from vision.measures import Measure, NotMeasurable, face_size
from vision.scale import scale_from_ruler, with_ruler


def test_a_difference_is_own_minus_reference_in_pixels_and_in_percent_of_the_face() -> None:
    reference = LandmarkSet(
        points={"nose_tip": Point(x=400, y=0), "ear": Point(x=200, y=0), "chin": Point(x=380, y=150)},
        head_yaw=HeadYaw(deg=90, sigma_deg=8),
    )
    own = LandmarkSet(points={"chin": Point(x=386, y=142), "hip": Point(x=0, y=900)})
    found = point_differences(own, reference)
    assert found == {"chin": PointDifference(px=10.0, dx=6.0, dy=-8.0, percent_of_face=pytest.approx(5.0))}


def test_the_references_face_size_counts_and_the_own_one_stands_in_for_it() -> None:
    own = doll_landmarks().with_points({"nose_tip": Point(x=1400, y=395)})
    faceless = doll_landmarks().without(["ear"])
    size, own_size = face_size(doll_landmarks()), face_size(own)
    assert isinstance(size, Measure)
    assert isinstance(own_size, Measure)
    with_face = point_differences(own, doll_landmarks())["nose_tip"]
    assert with_face.percent_of_face == pytest.approx(100 * with_face.px / size.value)
    without = point_differences(own, faceless)["nose_tip"]
    assert without.percent_of_face == pytest.approx(100 * without.px / own_size.value)


def test_without_any_face_size_the_percent_is_unknown_and_not_zero() -> None:
    one = LandmarkSet(points={"hip": Point(x=0, y=0)})
    other = LandmarkSet(points={"hip": Point(x=3, y=4)})
    assert point_differences(other, one)["hip"] == PointDifference(px=5, dx=3, dy=4, percent_of_face=None)


def test_own_sigma_finds_the_spread_that_the_clicks_were_drawn_with() -> None:
    rng = np.random.default_rng(12)
    found = []
    for _ in range(300):
        rounds = [
            LandmarkSet(
                points={name: Point(x=500 + rng.normal(0, 4), y=500 + rng.normal(0, 4)) for name in LANDMARK_IDS}
            )
            for _ in range(2)
        ]
        result = own_sigma(*rounds)
        assert isinstance(result, OwnSigma)
        assert result.n_points == len(LANDMARK_IDS)
        found.append(result.sigma_px**2)
    assert np.sqrt(np.mean(found)) == pytest.approx(4, rel=0.03)


@pytest.mark.parametrize("n", [0, 1, 2])
def test_own_sigma_of_fewer_than_three_points_is_refused(n: int) -> None:
    landmarks = LandmarkSet(points={name: Point(x=1, y=1) for name in LANDMARK_IDS[:n]})
    result = own_sigma(landmarks, doll_landmarks())
    assert isinstance(result, NotMeasurable)
    assert f"and {n} are so far" in result.reason


def test_own_sigma_of_two_rounds_that_are_copies_is_refused() -> None:
    result = own_sigma(doll_landmarks(), doll_landmarks())
    assert isinstance(result, NotMeasurable)
    assert "same to the last pixel" in result.reason


def test_a_ruler_gives_its_scale_with_the_spread_that_draws_give() -> None:
    scale = scale_from_ruler(Point(x=100, y=100, sigma=2), Point(x=400, y=500, sigma=3), 50)
    assert scale.mm_per_pixel == pytest.approx(0.1)
    draws = np.random.default_rng(6).normal(0, 1, (2, 50_000, 2)) @ [1, 1j]
    drawn = 50 / np.abs(300 + 400j + 3 * draws[1] - 2 * draws[0])
    assert scale.sigma == pytest.approx(drawn.std(), rel=0.02)


def test_a_set_takes_its_scale_from_its_own_scale_marks() -> None:
    marks = {"scale_a": Point(x=100, y=900), "scale_b": Point(x=300, y=900)}
    scaled = with_ruler(doll_landmarks().with_points(marks), 40)
    assert scaled.scale is not None
    assert scaled.scale.mm_per_pixel == pytest.approx(0.2)
    assert scaled.scale.sigma > 0
    assert scaled.points["scale_a"].sigma is None


@pytest.mark.parametrize(
    ("b", "distance", "words"),
    [
        ((300.0, 0.0), 0.0, "1 to 2000 mm"),
        ((300.0, 0.0), float("nan"), "1 to 2000 mm"),
        ((300.0, 0.0), 5000.0, "got 5000"),
        ((3.0, 0.0), 50.0, "too close together"),
        ((0.0, 0.0), 50.0, "got 0 pixels"),
    ],
)
def test_a_ruler_that_is_none_is_refused(b: tuple[float, float], distance: float, words: str) -> None:
    with pytest.raises(InvalidLandmarks, match=words):
        scale_from_ruler(Point(x=0, y=0, sigma=2), Point(x=b[0], y=b[1], sigma=2), distance)


def test_a_scale_needs_both_marks() -> None:
    with pytest.raises(InvalidLandmarks, match="both scale marks"):
        with_ruler(doll_landmarks(), 50)
