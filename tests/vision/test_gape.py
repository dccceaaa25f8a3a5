"""The gape angle: right for the view, honest about its spread, refused where the points contradict a mouth."""

import math
from dataclasses import replace

import numpy as np
import pytest
from head_model import FACE_PX, as_set, seen_head

from vision.geometry import drawn
from vision.landmarks import MOUTH_IDS, GapeReading, LandmarkSet, Point, Visibility
from vision.measures import Measure, NotMeasurable, measure_all
from vision.quantities.gape import READING_NOTE, WIDE_NOTE
from vision.quantities.gape_formula import with_face


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
    assert unknown.notes == (
        "Head direction is not set, so this is read straight off the picture and its interval is wider.",
    )
    assert known.notes == ()


def test_the_picture_plane_part_of_the_interval_is_the_published_formula() -> None:
    """Clicks alone, at a side view: sd² = σA²/a² + σB²/b² + σV²(1/a² + 1/b² − 2cosθ/(ab)); 3.438 for these arms."""
    points = seen_head(gape_up=50, gape_down=40, arms=(100, 100))
    places = [part for name in (*MOUTH_IDS, "nose_tip", "ear") for part in (points[name].real, points[name].imag)]
    exact = [0.0] * 8
    draws = with_face(drawn([*places, 0.19, 0.8, 90.0, 0.0], [3.0] * 6 + exact))[:, 0]
    assert draws.mean() == pytest.approx(90, abs=0.1)
    assert draws.std() == pytest.approx(3.438, rel=0.02)


def solved_gapes(psi: float, spread: dict[str, float], *, n: int = 40_000) -> np.ndarray:
    """Gapes of many jittered copies, each solved in three dimensions: two equations for a lip's place in the midplane.

    Head frame: x forward along ear → nose tip, y down, z to the camera's side. The camera's direction and the two axes
    of its picture are vectors in it; nose and ear give the picture's turn and the size, then each lip its d and v.
    """
    rng = np.random.default_rng(11)
    points = {
        name: at + rng.normal(0, spread["click"], n) + 1j * rng.normal(0, spread["click"], n)
        for name, at in seen_head(gape_up=30, gape_down=45, psi=psi).items()
    }
    forwards = np.cos(np.radians(rng.normal(psi, spread["yaw"], n)))
    above = np.sin(np.radians(rng.normal(0, spread["height"], n)))
    camera = np.stack([forwards, -above, np.sqrt(1 - forwards**2 - above**2)], axis=1)
    down = np.array([0, 1, 0]) + above[:, None] * camera
    down /= np.linalg.norm(down, axis=1)[:, None]
    right = np.cross(down, camera)
    w, k = rng.normal(0.19, spread["w"], n), rng.normal(0.8, spread["k"], n)

    def pictured(place: np.ndarray) -> np.ndarray:
        return (right * place).sum(axis=1) + 1j * (down * place).sum(axis=1)

    zero = np.zeros(n)
    face = (points["nose_tip"] - points["ear"]) / pictured(np.stack([zero + 1, zero, -k], axis=1))
    slopes = []
    for lip in ("upper_lip_edge", "lower_lip_edge"):
        ray = (points[lip] - points["mouth_corner"]) / face - pictured(np.stack([zero, zero, -w], axis=1))
        axes = np.stack([np.stack([right[:, 0], right[:, 1]], 1), np.stack([down[:, 0], down[:, 1]], 1)], axis=1)
        d, v = np.linalg.solve(axes, np.stack([ray.real, ray.imag], axis=1)[:, :, None])[:, :, 0].T
        slopes.append(np.degrees(np.arctan2(v, d)))
    return np.asarray(slopes[1] - slopes[0])


@pytest.mark.parametrize("psi", [65, 90, 110])
def test_the_interval_agrees_with_many_heads_solved_in_three_dimensions(psi: float) -> None:
    draws = solved_gapes(psi, {"click": 2.0, "yaw": 3.0, "height": 10.0, "w": 0.03, "k": 0.15})
    result = value(as_set(seen_head(gape_up=30, gape_down=45, psi=psi), sigma=2.0, yaw=(psi, 3.0)))
    assert result.sd == pytest.approx(draws.std(), rel=0.05)
    assert (result.low, result.high) == pytest.approx(np.quantile(draws, [0.025, 0.975]), abs=1)


def test_a_camera_height_that_was_said_narrows_the_interval() -> None:
    unsaid = as_set(seen_head(gape_up=30, gape_down=45, psi=75), sigma=2.0, yaw=(75, 3.0))
    assert value(replace(unsaid, camera_elevation_deg=0.0)).sd < value(unsaid).sd


@pytest.mark.parametrize("down", [87, 95, 110])
def test_a_lip_hardly_in_front_of_the_corner_or_behind_it_is_read_with_its_sign(down: float) -> None:
    result = value(as_set(seen_head(gape_up=20, gape_down=down), sigma=3, yaw=(90, 4)))
    assert result.value == pytest.approx(20 + down)
    assert result.low < 20 + down < result.high


def test_the_interval_grows_with_sigma_up_to_the_whole_range_and_says_so() -> None:
    points = seen_head(gape_up=20, gape_down=60)
    widths = []
    for sigma in (0.5, 2.0, 8.0, 30.0):
        result = value(as_set(points, sigma=sigma, yaw=(90, 4)))
        assert result.value == pytest.approx(80)
        assert (WIDE_NOTE in result.notes) is (result.high - result.low > 120)
        widths.append(result.high - result.low)
    assert widths == sorted(widths)
    assert widths[-1] > 150


def test_a_face_that_points_the_wrong_way_is_refused() -> None:
    """Ear and nose tip swapped would give the mirrored angle, sure of itself."""
    points = seen_head(gape_up=20, gape_down=40)
    points["ear"], points["nose_tip"] = points["nose_tip"], points["ear"]
    assert reason(as_set(points, sigma=2, yaw=(90, 4))) == (
        "By these points the upper lip would lie behind the mouth corner: check the mouth, ear and nose tip, and which "
        "way the head faces."
    )


def test_lips_in_each_others_place_are_refused() -> None:
    points = seen_head(gape_up=30, gape_down=40)
    points["upper_lip_edge"], points["lower_lip_edge"] = points["lower_lip_edge"], points["upper_lip_edge"]
    assert "the wrong way round" in reason(as_set(points, sigma=2, yaw=(90, 4)))


#: 3 px a coordinate, the direction known to 0.1°: what of a mouth beyond 180° may be error of its three points alone.
PAST_180 = {"sigma": 3, "yaw": (90, 0.1)}


@pytest.mark.parametrize(("share", "refused"), [(0.2, False), (0.96, False), (1.04, True), (1.5, True)])
def test_lips_past_180_degrees_are_read_as_180_up_to_three_standard_deviations_and_refused_beyond(
    share: float, refused: bool
) -> None:
    """Rays of 90 straight up and down, bent back alike: beyond 180° by so much of three of the published σθ."""
    past = 0.0
    for _ in range(20):  # σθ² = σA²/a² + σB²/b² + σV²(1/a² + 1/b² − 2cosθ/(ab)) depends on the angle, hardly
        past = share * 3 * math.degrees(3 / 90 * math.sqrt(4 - 2 * math.cos(math.radians(180 + past))))
    bent = as_set(seen_head(gape_up=90 + past / 2, gape_down=90 + past / 2, arms=(90, 90)), **PAST_180)  # type: ignore[arg-type]
    if refused:
        assert reason(bent) == (
            "By these points the lips would lie the wrong way round: check the mouth, ear and nose tip, and which way "
            "the head faces."
        )
    else:
        result = value(bent)
        assert (result.value, result.high) == (180, 180)
        assert (result.low < 180) is (share < 1.96 / 3)


@pytest.mark.parametrize(("share", "refused"), [(0.96, False), (1.04, True)])
def test_a_lip_behind_the_corner_is_refused_beyond_three_standard_deviations_of_its_depth(
    share: float, refused: bool
) -> None:
    """Level with the corner, so that σd² = σh² + (wF)²σψ² with σh² = 2σ²: 3 px and 4° of a face of 300."""
    sd = math.hypot(3 * math.sqrt(2), 0.19 * FACE_PX * math.radians(4))
    points = seen_head(gape_up=0, gape_down=60)
    points["upper_lip_edge"] = points["mouth_corner"] - share * 3 * sd
    result = gape(as_set(points, sigma=3, yaw=(90, 4)))
    assert (isinstance(result, NotMeasurable) and "upper lip would lie behind" in result.reason) is refused


def test_where_the_heads_direction_is_not_said_the_refusal_asks_for_it_first() -> None:
    points = seen_head(gape_up=20, gape_down=40)
    points["ear"], points["nose_tip"] = points["nose_tip"], points["ear"]
    assert reason(as_set(points, sigma=2, yaw=None)) == (
        "By these points the upper lip would lie behind the mouth corner: say first which way the head faces, then check "
        "the points."
    )


@pytest.mark.parametrize(("psi", "sigma"), [(0, 8), (38.9, 8), (136.1, 8), (180, 8), (54.9, 0.01)])
def test_a_head_not_seen_from_the_side_is_refused_with_what_to_do(psi: float, sigma: float) -> None:
    landmarks = as_set(seen_head(gape_up=20, gape_down=40), sigma=2, yaw=(psi, sigma))
    assert reason(landmarks) == (
        f"The head is seen at {psi:.0f}°, and this can be read from 55° to 120° (90° is the side view): take the photo "
        "from the side."
    )


@pytest.mark.parametrize(("said", "nearest"), [(40, 55), (54, 55), (121, 120), (135, 120)])
def test_a_direction_that_may_be_inside_the_domain_is_read_from_its_nearer_end(said: float, nearest: float) -> None:
    points = seen_head(gape_up=20, gape_down=40, psi=nearest)
    assert value(as_set(points, sigma=1, yaw=(said, 8))).value == pytest.approx(60)


@pytest.mark.parametrize(("elevation", "word"), [(20.5, "down"), (-30, "up")])
def test_a_camera_far_above_or_below_the_face_is_refused(elevation: float, word: str) -> None:
    landmarks = as_set(seen_head(gape_up=20, gape_down=40), sigma=2, yaw=(90, 8))
    assert reason(replace(landmarks, camera_elevation_deg=elevation)) == (
        f"The camera looks {word} by {abs(elevation):.0f}°, and this can be read up to 20°: take the photo from the side, "
        "at the height of the face."
    )
    assert isinstance(gape(replace(landmarks, camera_elevation_deg=math.copysign(20, elevation))), Measure)


def test_a_camera_far_above_is_refused_though_nobody_said_which_way_the_head_faces() -> None:
    landmarks = replace(as_set(seen_head(gape_up=20, gape_down=40), sigma=2), camera_elevation_deg=25)
    assert reason(landmarks).startswith("The camera looks down by 25°")


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


@pytest.mark.parametrize(("arm", "refused"), [(5.6, True), (5.7, False)])
def test_without_a_face_a_lip_must_lie_two_standard_deviations_from_the_corner(arm: float, refused: bool) -> None:
    """σ = 2 for both: 2 · √(2² + 2²) = 5.66 px. With a face the same lip is read, if widely."""
    whole = as_set(seen_head(gape_up=30, gape_down=30, arms=(80, arm)), sigma=2)
    for gone in (["ear"], ["nose_tip"]):
        assert isinstance(gape(whole.without(gone)), NotMeasurable) is refused
    assert isinstance(gape(whole), Measure)


def test_an_interval_that_reaches_down_to_a_closed_mouth_begins_at_zero() -> None:
    result = value(as_set(seen_head(gape_up=1, gape_down=2), sigma=4, yaw=(90, 4)))
    assert (result.value, result.low) == (pytest.approx(3), 0)


def test_ear_and_nose_on_one_place_are_refused() -> None:
    points = seen_head(gape_up=30, gape_down=30)
    points["ear"] = points["nose_tip"] + 0.1
    assert reason(as_set(points, sigma=2)) == (
        "Ear and nose tip lie on each other, so it cannot be told which way the face points."
    )


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
    assert reason(LandmarkSet(points=points)) == "The points lie where this cannot be worked out."


def read_by_net(**changes: Point) -> LandmarkSet:
    """Points of a gape of 70° placed by "net", which reads 84 ± 6° by itself."""
    head = as_set(seen_head(gape_up=30, gape_down=40), sigma=2, yaw=(90, 4))
    points = {name: replace(point, by="net") for name, point in head.points.items()} | changes
    return replace(head, points=points, gape=GapeReading(deg=84, sigma_deg=6, by="net"))


def test_a_detectors_own_reading_is_the_value_while_the_mouth_is_that_detectors() -> None:
    result = value(read_by_net())
    assert (result.value, result.sd, result.notes) == (84, 6, (READING_NOTE,))
    assert (result.low, result.high) == pytest.approx((84 - 1.96 * 6, 84 + 1.96 * 6))


@pytest.mark.parametrize(("deg", "ends"), [(5, (0, 16.76)), (176, (164.24, 180))])
def test_a_detectors_own_reading_is_cut_at_the_ends_too(deg: float, ends: tuple[float, float]) -> None:
    result = value(replace(read_by_net(), gape=GapeReading(deg=deg, sigma_deg=6, by="net")))
    assert (result.low, result.high) == pytest.approx(ends)


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
