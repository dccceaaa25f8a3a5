"""The gape angle: right for the view, honest about its spread, refused where it could be a mirrored answer."""

import math
from dataclasses import replace

import numpy as np
import pytest
from head_model import FACE_PX, as_set, seen_head

from vision.gape import READING_NOTE, lip_depths
from vision.landmarks import MOUTH_IDS, GapeReading, LandmarkSet, Point, Visibility
from vision.measures import Measure, NotMeasurable, measure_all


def gape(landmarks: LandmarkSet) -> Measure | NotMeasurable:
    return measure_all(landmarks)["gape_angle"]


def value(landmarks: LandmarkSet) -> Measure:
    result = gape(landmarks)
    assert isinstance(result, Measure), result
    return result


def reason(landmarks: LandmarkSet) -> str:
    result = gape(landmarks)
    assert isinstance(result, NotMeasurable), result
    return result.reason


@pytest.mark.parametrize("psi", [56, 65, 75, 90, 105, 119])
@pytest.mark.parametrize(("up", "down"), [(10, 20), (25, 50), (50, 55)])
def test_the_view_correction_gives_back_the_true_gape(psi: float, up: float, down: float) -> None:
    points = seen_head(gape_up=up, gape_down=down, psi=psi, roll=psi)
    assert value(as_set(points, sigma=0.5, yaw=(psi, 1))).value == pytest.approx(up + down, abs=1e-6)


def test_without_the_correction_the_same_head_would_be_read_wrong() -> None:
    points = seen_head(gape_up=30, gape_down=50, psi=65)
    raw = np.angle(
        (points["lower_lip_edge"] - points["mouth_corner"]) / (points["upper_lip_edge"] - points["mouth_corner"])
    )
    assert abs(math.degrees(raw) - 80) > 10


def test_a_head_of_unknown_direction_is_read_straight_off_the_picture_with_a_wider_interval() -> None:
    points = seen_head(gape_up=30, gape_down=40)
    unknown, known = value(as_set(points, sigma=3)), value(as_set(points, sigma=3, yaw=(90, 8)))
    assert unknown.value == pytest.approx(70)
    assert unknown.sd > known.sd
    assert "Head direction is not set" in unknown.notes[0]
    assert known.notes == ()


def test_the_picture_plane_part_of_the_interval_is_the_published_formula() -> None:
    """ψ, w and k taken as exact at a side view leave the clicks: sd² = σA²/a² + σB²/b² + σV²(1/a² + 1/b² − 2cosθ/(ab))."""
    points = seen_head(gape_up=50, gape_down=40, arms=(100, 100))
    points["ear"] -= 9e5  # so far that clicks do not turn the line ear → nose; h then needs no F, as cos ψ = 0
    assert value(as_set(points, sigma=3, yaw=(90, 1e-9))).sd == pytest.approx(3.438, abs=5e-3)


def test_a_lips_depth_has_the_published_standard_deviation() -> None:
    """At ψ = 90°: σd² = σh² + (wF)²σψ², from design's σd² = σh²/sin²ψ + σ(wF)²cot²ψ + ((wF − h cosψ)/sin²ψ)²σψ²."""
    points = seen_head(gape_up=1e-9, gape_down=1e-9)  # lips at the height of the corner: the line's tilt drops out
    depths = lip_depths(as_set(points, sigma=3, yaw=(90, 8)))
    assert depths is not None
    (depth, sd), _ = depths
    assert depth == pytest.approx(80)
    assert sd == pytest.approx(math.hypot(3 * math.sqrt(2), 0.19 * FACE_PX * math.radians(8)), rel=1e-3)


def drawn_gapes(psi: float, spread: dict[str, float], *, n: int = 40_000) -> np.ndarray:
    """Gapes of many jittered copies, by a formula of its own: ratios of projections in place of complex numbers."""
    rng = np.random.default_rng(11)
    points = {
        name: np.array([at.real, at.imag]) + rng.normal(0, spread["click"], (n, 2))
        for name, at in seen_head(gape_up=30, gape_down=45, psi=psi).items()
    }
    yaw = np.radians(rng.normal(psi, spread["yaw"], n))
    w, k = rng.normal(0.19, spread["w"], n), rng.normal(0.8, spread["k"], n)
    face = points["nose_tip"] - points["ear"]
    length = np.linalg.norm(face, axis=1)
    along = face / length[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    half = w * length / (np.sin(yaw) + k * np.cos(yaw))
    slopes = []
    for lip in ("upper_lip_edge", "lower_lip_edge"):
        ray = points[lip] - points["mouth_corner"]
        depth = ((ray * along).sum(axis=1) - half * np.cos(yaw)) / np.sin(yaw)
        slopes.append(np.degrees(np.arctan2((ray * across).sum(axis=1), depth)))
    return np.asarray(slopes[1] - slopes[0])


@pytest.mark.parametrize("psi", [65, 90, 110])
def test_the_standard_deviation_agrees_with_draws_over_all_inputs(psi: float) -> None:
    draws = drawn_gapes(psi, {"click": 2.0, "yaw": 3.0, "w": 0.03, "k": 0.15})
    result = value(as_set(seen_head(gape_up=30, gape_down=45, psi=psi), sigma=2.0, yaw=(psi, 3.0)))
    assert result.sd == pytest.approx(draws.std(), rel=0.05)


def test_a_lip_hardly_in_front_of_the_corner_is_refused_and_the_reason_names_it() -> None:
    points = seen_head(gape_up=20, gape_down=87)
    assert reason(as_set(points, sigma=3, yaw=(90, 4))).startswith("The lower lip lies too little in front")


def test_where_the_heads_direction_is_not_said_the_refusal_asks_for_it_first() -> None:
    points = seen_head(gape_up=20, gape_down=87)
    assert "say first which way the head faces" in reason(as_set(points, sigma=3, yaw=None))
    assert "take the photo more from the side" in reason(as_set(points, sigma=3, yaw=(90, 4)))


def test_a_depth_of_just_over_two_sigma_is_measured_and_of_just_under_is_refused() -> None:
    """Depth 20 px against σd = √(2·σ² + (57·0.0698)²): the limit lies near σ = 6.5."""
    points = seen_head(gape_up=20, gape_down=math.degrees(math.acos(20 / 90)))
    for sigma in (1.0, 3.0, 5.0, 6.0, 8.0, 12.0):
        landmarks = as_set(points, sigma=sigma, yaw=(90, 4))
        depths = lip_depths(landmarks)
        assert depths is not None
        _, (depth, sd) = depths
        assert isinstance(gape(landmarks), Measure) is bool(depth > 2 * sd)


def test_a_face_that_points_the_wrong_way_is_refused() -> None:
    """Ear and nose tip swapped would give the mirrored angle, sure of itself."""
    points = seen_head(gape_up=20, gape_down=40)
    points["ear"], points["nose_tip"] = points["nose_tip"], points["ear"]
    assert "in front of the mouth corner" in reason(as_set(points, sigma=2, yaw=(90, 4)))


@pytest.mark.parametrize("psi", [0, 54.9, 120.1, 180])
def test_a_head_not_seen_from_the_side_is_refused_with_what_to_do(psi: float) -> None:
    landmarks = as_set(seen_head(gape_up=20, gape_down=40), sigma=2, yaw=(psi, 8))
    assert reason(landmarks).endswith("take the photo from the side.")


@pytest.mark.parametrize(("elevation", "word"), [(20.5, "down"), (-30, "up")])
def test_a_camera_far_above_or_below_the_face_is_refused(elevation: float, word: str) -> None:
    landmarks = as_set(seen_head(gape_up=20, gape_down=40), sigma=2, yaw=(90, 8))
    assert f"looks {word} by" in reason(replace(landmarks, camera_elevation_deg=elevation))
    assert isinstance(gape(replace(landmarks, camera_elevation_deg=math.copysign(20, elevation))), Measure)


def test_missing_points_are_named_in_one_reason() -> None:
    landmarks = as_set(seen_head(gape_up=20, gape_down=40)).without(["mouth_corner", "lower_lip_edge"])
    assert reason(landmarks) == "Not placed: mouth corner and lower lip."


def test_without_ear_or_nose_the_value_stays_the_picture_plane_one_and_the_interval_grows() -> None:
    whole = as_set(seen_head(gape_up=30, gape_down=40), sigma=2)
    for gone in (["ear"], ["nose_tip"], ["ear", "nose_tip"]):
        bare = value(whole.without(gone))
        assert bare.value == pytest.approx(70)
        assert bare.sd > value(whole).sd
        assert "Place ear and nose tip to narrow this interval." in bare.notes


def test_without_ear_and_nose_a_known_direction_is_put_right_by_the_mouths_own_shape() -> None:
    """Lips as deep as half the mouth is wide (the assumption) and equally far up and down: then it is exact."""
    points = seen_head(gape_up=35, gape_down=35, arms=(80, 80), w=80 * math.cos(math.radians(35)) / FACE_PX, psi=75)
    bare = as_set(points, sigma=1, yaw=(75, 4)).without(["ear", "nose_tip"])
    assert value(bare).value == pytest.approx(70, abs=1e-6)


def test_a_mouth_alone_with_a_lip_on_its_corner_is_refused() -> None:
    bare = as_set(seen_head(gape_up=30, gape_down=30, arms=(80, 1)), sigma=2).without(["ear", "nose_tip"])
    assert reason(bare) == "A lip edge lies too close to the mouth corner for an angle between them."


def test_ear_and_nose_on_one_place_are_refused() -> None:
    points = seen_head(gape_up=30, gape_down=30)
    points["ear"] = points["nose_tip"] + 1
    assert reason(as_set(points, sigma=2)).startswith("Ear and nose tip lie too close together")


def test_a_closed_mouth_reads_zero_with_an_interval_that_starts_there() -> None:
    points = seen_head(gape_up=0, gape_down=0, arms=(80, 80))
    result = value(as_set(points, sigma=2, yaw=(90, 4)))
    assert (result.value, result.low) == (0, 0)
    assert result.high > 2


def test_a_point_placed_by_guess_counts_as_less_sure_and_is_named() -> None:
    seen = as_set(seen_head(gape_up=30, gape_down=40))
    lip = replace(seen.points["lower_lip_edge"], visibility=Visibility.HIDDEN)
    guessed = seen.with_points({"lower_lip_edge": lip})
    assert value(guessed).sd > value(seen).sd
    assert "Placed by guess, where it cannot be seen: lower lip." in value(guessed).notes


def test_opposite_rays_of_a_mouth_alone_have_no_bisector_and_are_refused() -> None:
    points = {
        "mouth_corner": Point(x=100, y=100, sigma=1),
        "upper_lip_edge": Point(x=100, y=50, sigma=1),
        "lower_lip_edge": Point(x=100, y=150, sigma=1),
    }
    assert isinstance(gape(LandmarkSet(points=points)), NotMeasurable)


def read_by_net(**changes: Point) -> LandmarkSet:
    """Points of a gape of 70° placed by "net", which reads 84 ± 6° by itself."""
    head = as_set(seen_head(gape_up=30, gape_down=40), sigma=2, yaw=(90, 4))
    points = {name: replace(point, by="net") for name, point in head.points.items()} | changes
    return replace(head, points=points, gape=GapeReading(deg=84, sigma_deg=6, by="net"))


def test_a_detectors_own_reading_is_the_value_while_the_mouth_is_that_detectors() -> None:
    result = value(read_by_net())
    assert (result.value, result.sd, result.notes) == (84, 6, (READING_NOTE,))
    assert (result.low, result.high) == pytest.approx((84 - 1.96 * 6, 84 + 1.96 * 6))


@pytest.mark.parametrize("name", MOUTH_IDS)
def test_a_mouth_point_that_a_person_moved_or_confirmed_makes_the_reading_void(name: str) -> None:
    moved = replace(read_by_net().points[name], by="student")
    result = value(read_by_net(**{name: moved}))
    assert result.value == pytest.approx(70)
    assert READING_NOTE not in result.notes


def test_a_mouth_point_that_a_person_removed_leaves_no_gape() -> None:
    assert reason(read_by_net().without(["lower_lip_edge"])) == "Not placed: lower lip."


def test_a_persons_other_points_leave_the_reading_as_it_is() -> None:
    chin = Point(x=1, y=2, by="student")
    assert value(read_by_net(chin=chin)).value == 84


def test_a_reading_beside_another_detectors_mouth_does_not_count() -> None:
    whole = read_by_net()
    others = {name: replace(point, by="mesh") for name, point in whole.points.items()}
    assert value(whole.with_points(others)).value == pytest.approx(70)


def test_a_reading_outside_the_domain_is_refused_like_any_gape() -> None:
    assert reason(replace(read_by_net(), camera_elevation_deg=30)).startswith("The camera looks down by 30°")
