"""Angles and the propagation of errors, against published numbers, draws and other libraries."""

import cmath
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial import distance

from vision.geometry import Floats, complex_columns, drawn, propagate, turn_deg

coordinates = st.floats(-2000, 2000)
points = st.tuples(coordinates, coordinates)


def apart(*places: tuple[float, float]) -> bool:
    return all(math.dist(a, b) > 1 for i, a in enumerate(places) for b in places[i + 1 :])


def angle_deg(vertex: complex, a: complex, b: complex) -> float:
    """Unsigned angle at the vertex."""
    return abs(float(turn_deg(np.array([a - vertex]), np.array([b - vertex]))[0]))


def at_vertex(inputs: Floats) -> Floats:
    """The angle of a vertex and two points laid out x, y, x, y …"""
    vertex, a, b = complex_columns(inputs, 3)
    return turn_deg(a - vertex, b - vertex)[:, None]


#: (θ, arm, arm, σ of all three points, SD in degrees): worked out by σθ² = σA²/a² + σB²/b² + σV²(1/a² + 1/b² −
#: 2cosθ/(ab)) and by 400,000 draws outside this project.
PUBLISHED_SD = [(120, 100, 100, 3, 3.844), (120, 60, 90, 3, 5.402), (90, 100, 100, 3, 3.438), (160, 100, 100, 3, 4.168)]


@pytest.mark.parametrize(("theta", "a", "b", "sigma", "sd"), PUBLISHED_SD)
@pytest.mark.parametrize("turn", [0.0, 2.5])
def test_the_propagated_error_of_an_angle_is_that_of_the_reference_rows(
    theta: float, a: float, b: float, sigma: float, sd: float, turn: float
) -> None:
    first, second = cmath.rect(a, turn), cmath.rect(b, turn + math.radians(theta))
    points = [300.0, -20.0, 300 + first.real, -20 + first.imag, 300 + second.real, -20 + second.imag]
    (value,), (found,) = propagate(at_vertex, points, [sigma] * 6)
    assert value == pytest.approx(theta)
    assert found == pytest.approx(sd, abs=5e-4)
    assert at_vertex(drawn(points, [sigma] * 6)).std() == pytest.approx(sd, rel=0.02)


def test_the_error_of_an_angle_weighs_each_point_by_its_own_sigma() -> None:
    points = [0.0, 0.0, 50.0, 0.0, 0.0, 200.0]
    for sigmas, sd in (([0, 0, 2, 2, 0, 0], 2 / 50), ([0, 0, 0, 0, 2, 2], 2 / 200)):
        assert propagate(at_vertex, points, sigmas)[1] == pytest.approx([math.degrees(sd)])


@given(vertex=points, a=points, b=points)
def test_an_angle_is_what_the_cosine_of_scipy_says(
    vertex: tuple[float, float], a: tuple[float, float], b: tuple[float, float]
) -> None:
    assume(apart(vertex, a, b))
    cosine = 1 - distance.cosine(np.subtract(a, vertex), np.subtract(b, vertex))
    found = angle_deg(complex(*vertex), complex(*a), complex(*b))
    assert math.cos(math.radians(found)) == pytest.approx(cosine, abs=1e-9)
    assert angle_deg(complex(*vertex), complex(*b), complex(*a)) == pytest.approx(found, abs=1e-9)


@given(deg=st.floats(-179, 179), first=st.floats(-180, 180))
def test_a_turn_has_its_size_and_sign_and_flips_in_a_mirror(deg: float, first: float) -> None:
    start = np.array([cmath.rect(30, math.radians(first))])
    end = np.array([cmath.rect(70, math.radians(first + deg))])
    assert turn_deg(start, end) == pytest.approx(deg, abs=1e-9)
    assert turn_deg(start.conjugate(), end.conjugate()) == pytest.approx(-deg, abs=1e-9)


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
