"""Angles and the propagation of errors, against published numbers, draws and other libraries."""

import cmath
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial import distance
from skimage.measure import LineModelND
from skimage.transform import SimilarityTransform

from vision.geometry import angle_at_deg, angle_sd_deg, offset_from_line, propagate, turn_deg

coordinates = st.floats(-2000, 2000)
points = st.tuples(coordinates, coordinates)


def apart(*places: tuple[float, float]) -> bool:
    return all(math.dist(a, b) > 1 for i, a in enumerate(places) for b in places[i + 1 :])


#: (θ, arm, arm, σ of all three points, SD in degrees): worked out by the same formula and by 400,000 draws outside this
#: project.
PUBLISHED_SD = [(120, 100, 100, 3, 3.844), (120, 60, 90, 3, 5.402), (90, 100, 100, 3, 3.438), (160, 100, 100, 3, 4.168)]


@pytest.mark.parametrize(("theta", "a", "b", "sigma", "sd"), PUBLISHED_SD)
def test_angle_sd_matches_the_reference_rows(theta: float, a: float, b: float, sigma: float, sd: float) -> None:
    assert angle_sd_deg(theta, a, b, sigma_a=sigma, sigma_b=sigma, sigma_vertex=sigma) == pytest.approx(sd, abs=5e-4)


@pytest.mark.parametrize(("theta", "a", "b", "sigma", "sd"), PUBLISHED_SD)
def test_angle_sd_matches_draws(theta: float, a: float, b: float, sigma: float, sd: float) -> None:
    draws = np.random.default_rng(7).normal(0, sigma, (3, 100_000, 2)) @ [1, 1j]
    vertex, first, second = draws[0], a + draws[1], b * cmath.exp(1j * math.radians(theta)) + draws[2]
    angles = np.degrees(np.angle((second - vertex) / (first - vertex)))
    assert angles.std() == pytest.approx(sd, rel=0.02)


def test_angle_sd_weighs_each_point_by_its_own_sigma() -> None:
    one = angle_sd_deg(70, 50, 200, sigma_a=2, sigma_b=0, sigma_vertex=0)
    assert one == pytest.approx(math.degrees(2 / 50))
    assert angle_sd_deg(70, 50, 200, sigma_a=0, sigma_b=2, sigma_vertex=0) == pytest.approx(math.degrees(2 / 200))


@given(vertex=points, a=points, b=points)
def test_an_angle_is_what_the_cosine_of_scipy_says(
    vertex: tuple[float, float], a: tuple[float, float], b: tuple[float, float]
) -> None:
    assume(apart(vertex, a, b))
    cosine = 1 - distance.cosine(np.subtract(a, vertex), np.subtract(b, vertex))
    assert math.cos(math.radians(angle_at_deg(vertex, a, b))) == pytest.approx(cosine, abs=1e-9)


@given(
    vertex=points,
    a=points,
    b=points,
    scale=st.floats(0.1, 10),
    turn=st.floats(-3.2, 3.2),
    shift=points,
    mirror=st.booleans(),
)
def test_an_angle_is_unchanged_by_shift_turn_scale_and_mirror(
    vertex: tuple[float, float],
    a: tuple[float, float],
    b: tuple[float, float],
    scale: float,
    turn: float,
    shift: tuple[float, float],
    mirror: bool,
) -> None:
    assume(apart(vertex, a, b))
    move = SimilarityTransform(scale=scale, rotation=turn, translation=shift)
    moved = move(np.array([vertex, a, b]) * ([-1, 1] if mirror else [1, 1]))
    assert angle_at_deg(*moved) == pytest.approx(angle_at_deg(vertex, a, b), abs=1e-5)


@given(a=points, b=points, vertex=points)
def test_an_angle_does_not_depend_on_the_order_of_its_arms(
    vertex: tuple[float, float], a: tuple[float, float], b: tuple[float, float]
) -> None:
    assume(apart(vertex, a, b))
    assert angle_at_deg(vertex, a, b) == pytest.approx(angle_at_deg(vertex, b, a), abs=1e-9)


@given(deg=st.floats(-179, 179), first=st.floats(-180, 180))
def test_a_turn_has_its_size_and_sign_and_flips_in_a_mirror(deg: float, first: float) -> None:
    start = cmath.rect(30, math.radians(first))
    end = cmath.rect(70, math.radians(first + deg))
    assert turn_deg(start, end) == pytest.approx(deg, abs=1e-9)
    assert turn_deg(start.conjugate(), end.conjugate()) == pytest.approx(-deg, abs=1e-9)


@given(point=points, start=points, end=points)
def test_the_offset_from_a_line_is_the_residual_of_scikit_images_line(
    point: tuple[float, float], start: tuple[float, float], end: tuple[float, float]
) -> None:
    assume(apart(start, end))
    line = LineModelND.from_estimate(np.array([start, end]))
    residual = line.residuals(np.array([point]))[0]
    assert abs(offset_from_line(point, start, end)) * math.dist(start, end) == pytest.approx(residual, abs=1e-6)


def test_the_offset_from_a_line_says_on_which_side_a_point_lies() -> None:
    assert offset_from_line((0, 1), (-1, 0), (1, 0)) == 0.5
    assert offset_from_line((0, -1), (-1, 0), (1, 0)) == -0.5


def test_a_shape_without_arms_has_no_angle() -> None:
    for a, b in (((1, 1), (2, 2)), ((2, 2), (1, 1))):
        with pytest.raises(ValueError, match=r"^an angle needs two arms longer than 0$"):
            angle_at_deg((1, 1), a, b)
    assert angle_at_deg((0, 0), (0, 1), (1, 0)) == 90


def test_two_points_on_each_other_make_no_line() -> None:
    with pytest.raises(ValueError, match=r"^a line needs two points that differ$"):
        offset_from_line((0, 0), (1, 1), (1, 1))


def test_propagation_is_exact_for_a_linear_formula_and_right_for_a_curved_one() -> None:
    def formula(x: np.ndarray) -> np.ndarray:
        return np.column_stack([3 * x[:, 0] - 4 * x[:, 1], x[:, 0] * x[:, 1], np.exp(x[:, 1])])

    values, sds = propagate(formula, [2.0, 0.5], [0.1, 0.2])
    assert values == pytest.approx([4.0, 1.0, math.exp(0.5)])
    assert sds == pytest.approx([math.hypot(0.3, 0.8), math.hypot(0.05, 0.4), 0.2 * math.exp(0.5)], rel=1e-6)


def test_propagation_of_an_exact_input_adds_nothing() -> None:
    _, sds = propagate(lambda x: x[:, :1] + 100 * x[:, 1:], [1.0, 1.0], [0.5, 0.0])
    assert sds == pytest.approx([0.5], rel=1e-6)


def test_propagation_survives_a_sigma_far_below_rounding() -> None:
    _, sds = propagate(lambda x: x**2, [4000.0], [1e-12])
    assert sds == pytest.approx([8e-9], rel=1e-3)
