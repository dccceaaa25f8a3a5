"""The formula of the gape by itself: wherever in the photo the mouth lies, and past the ends of 0 to 180 degrees."""

import cmath
import math

import numpy as np
import pytest
from head_model import FACE_PX, seen_head
from hypothesis import given
from hypothesis import strategies as st

from vision.geometry import propagate
from vision.quantities.gape_formula import upright, with_face, without_face

FACE_ORDER = ("mouth_corner", "upper_lip_edge", "lower_lip_edge", "nose_tip", "ear")
#: Half mouth width and half ear breadth of the drawn head, seen square from the side by a level camera.
SIDE_VIEW = (0.19, 0.8, 90.0, 0.0)

angles = st.floats(-math.pi, math.pi)
places = st.complex_numbers(max_magnitude=3000, allow_nan=False, allow_infinity=False)


def columns(*points: complex) -> list[float]:
    return [part for point in points for part in (point.real, point.imag)]


def mouth(up: float, down: float, arms: tuple[float, float]) -> list[complex]:
    """Corner, upper and lower lip edge of a mouth that opens along x, the corner at 0; y runs down."""
    return [0j, cmath.rect(arms[0], -math.radians(up)), cmath.rect(arms[1], math.radians(down))]


@given(turn=angles, corner=places, half=st.floats(1, 85), depth=st.floats(10, 400))
def test_a_mouth_alone_reads_the_same_wherever_it_lies_and_however_it_is_turned(
    turn: float, corner: complex, half: float, depth: float
) -> None:
    """Both lips equally deep and equally far up and down, seen from the side: the angle and the depths are known."""
    arm = depth / math.cos(math.radians(half))
    points = [corner + point * cmath.rect(1, turn) for point in mouth(half, half, (arm, arm))]
    ((gape, upper, lower),) = without_face(np.array([[*columns(*points), 1.0, 0.0, 90.0]]))
    assert gape == pytest.approx(2 * half, abs=1e-6)
    assert (upper, lower) == pytest.approx((depth, depth), rel=1e-6)


@pytest.mark.parametrize(("psi", "depth"), [(60, 100), (90, 100), (115, 100)])
def test_a_mouth_alone_seen_obliquely_has_the_depth_that_it_was_drawn_with(psi: float, depth: float) -> None:
    """Worked by hand: lips 100 in front of a corner that stands out by as much show 100 (sin ψ + cos ψ) of it."""
    shown = depth * (math.sin(math.radians(psi)) + math.cos(math.radians(psi)))
    points = [complex(700, 300), complex(700 + shown, 230), complex(700 + shown, 370)]
    ((gape, upper, lower),) = without_face(np.array([[*columns(*points), 1.0, 0.0, psi]]))
    assert (upper, lower) == pytest.approx((depth, depth))
    assert gape == pytest.approx(2 * math.degrees(math.atan2(70, depth)))


@given(up=st.floats(10, 80), down=st.floats(10, 80), psi=st.floats(56, 119), turn=angles, corner=places)
def test_the_formula_itself_finds_a_head_turned_in_the_picture(
    up: float, down: float, psi: float, turn: float, corner: complex
) -> None:
    """Whoever calls it sets the head upright before; that makes errors alike, and must not be needed for the value."""
    head = seen_head(gape_up=up, gape_down=down, psi=psi)
    shown = [corner + (head[name] - head["mouth_corner"]) * cmath.rect(1, turn) for name in FACE_ORDER]
    ((gape, upper, lower),) = with_face(np.array([[*columns(*shown), 0.19, 0.8, psi, 0.0]]))
    assert gape == pytest.approx(up + down, abs=1e-6)
    assert (upper, lower) == pytest.approx((80 * math.cos(math.radians(up)), 90 * math.cos(math.radians(down))))


@given(up=st.floats(10, 60), arms=st.tuples(st.floats(50, 150), st.floats(50, 150)), psi=st.floats(60, 115))
def test_a_mouth_alone_counts_both_lips_alike(up: float, arms: tuple[float, float], psi: float) -> None:
    """Upside down the lips change places: the same angle, and the depths change places with them."""
    points = mouth(up, up, arms)
    mirrored = [points[0], points[2].conjugate(), points[1].conjugate()]
    one, other = without_face(np.array([[*columns(*p), 0.7, 0.0, psi] for p in (points, mirrored)]))
    assert one[0] == pytest.approx(other[0])
    assert (one[1], one[2]) == pytest.approx((other[2], other[1]))


def test_a_bisector_that_is_off_turns_both_lips_of_a_mouth_alone_and_not_the_angle_of_a_side_view() -> None:
    points = [complex(50, 60) + point for point in mouth(30, 30, (80, 80))]
    straight, off = without_face(np.array([[*columns(*points), 1.0, tilt, 90.0] for tilt in (0.0, 15.0)]))
    assert (straight[0], off[0]) == pytest.approx((60, 60))
    assert (off[1], off[2]) == pytest.approx((80 * math.cos(math.radians(45)), 80 * math.cos(math.radians(15))))


@given(
    up=st.floats(5, 80),
    down=st.floats(5, 80),
    turn=angles,
    corner=places,
    mirror=st.booleans(),
    scale=st.floats(0.2, 5),
)
def test_a_head_is_set_upright_without_changing_its_shape(
    up: float, down: float, turn: float, corner: complex, mirror: bool, scale: float
) -> None:
    """Whatever the photo's turn, side and size: the corner at 0, the face along x, the mouth and lower lip below."""
    head = seen_head(gape_up=up, gape_down=down, arms=(60, 90))
    solid = [head[name] - head["mouth_corner"] for name in FACE_ORDER]
    shown = [corner + scale * (p.conjugate() if mirror else p) * cmath.rect(1, turn) for p in solid]
    assert upright(*shown) == pytest.approx([scale * point for point in solid], abs=1e-6)


@given(
    up=st.floats(1, 80),
    arms=st.tuples(st.floats(20, 200), st.floats(20, 200)),
    turn=angles,
    corner=places,
    mirror=st.booleans(),
)
def test_a_mouth_alone_is_set_upright_by_the_bisector_of_its_rays_however_long_each_is(
    up: float, arms: tuple[float, float], turn: float, corner: complex, mirror: bool
) -> None:
    solid = mouth(up, up, arms)
    shown = [corner + (p.conjugate() if mirror else p) * cmath.rect(1, turn) for p in solid]
    assert upright(*shown) == pytest.approx(solid, abs=1e-6)


@pytest.mark.parametrize(("up", "down"), [(100, 120), (95, 86), (-50, 20), (30, -60), (85, 100), (130, 130)])
def test_an_angle_past_the_ends_is_told_as_it_is_and_not_from_the_other_side(up: float, down: float) -> None:
    """220° stays 220° and does not become −140°; −30° stays −30°. Where it is cut is for whoever draws errors."""
    head = seen_head(gape_up=up, gape_down=down)
    ((gape, upper, lower),) = with_face(np.array([[*columns(*(head[name] for name in FACE_ORDER)), *SIDE_VIEW]]))
    assert gape == pytest.approx(up + down, abs=1e-6)
    assert upper == pytest.approx(80 * math.cos(math.radians(up)), abs=1e-6)
    assert lower == pytest.approx(90 * math.cos(math.radians(down)), abs=1e-6)


def test_a_lips_depth_has_the_published_standard_deviation() -> None:
    """At ψ = 90°: σd² = σh² + (wF)²σψ², from σd² = σh²/sin²ψ + σ(wF)²cot²ψ + ((wF − h cosψ)/sin²ψ)²σψ²."""
    head = seen_head(gape_up=1e-9, gape_down=1e-9)  # lips at the height of the corner: the line's tilt drops out
    values = [*columns(*(head[name] for name in FACE_ORDER)), *SIDE_VIEW]
    out, sd = propagate(with_face, values, [*[3.0] * 10, 0.03, 0.15, 8.0, 10.0])
    assert out[1] == pytest.approx(80)
    assert sd[1] == pytest.approx(math.hypot(3 * math.sqrt(2), 0.19 * FACE_PX * math.radians(8)), rel=1e-3)
