"""Angles, lines and the propagation of errors: pure numpy, nothing here knows a mouth or a photo.

Frame: pixels, x right, y down. A point is an (x, y) pair or the complex number x + iy. Seen on the screen, a positive
turn is clockwise.
"""

from collections.abc import Callable, Sequence
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: Central differences over this share of a standard deviation: small enough to be linear, far above rounding.
_STEP = 1e-3
#: A step never gets finer than this share of the input, or rounding would drown the difference.
_FINEST_STEP = 1e-7


def as_complex(point: ArrayLike) -> complex:
    """The point (x, y) as x + iy.

    >>> as_complex((3, 4))
    (3+4j)
    """
    x, y = np.asarray(point, dtype=np.float64)
    return complex(x, y)


def turn_deg(first: complex, second: complex) -> float:
    """Signed angle from the vector `first` to the vector `second`, degrees in (-180, 180], clockwise positive.

    >>> turn_deg(1 + 0j, 0 + 1j)
    90.0
    """
    return float(np.degrees(np.angle(second * np.conj(first))))


def angle_at_deg(vertex: ArrayLike, a: ArrayLike, b: ArrayLike) -> float:
    """Unsigned angle at `vertex` between the rays to `a` and `b`, degrees in [0, 180].

    Raises
    ------
    ValueError
        Where `a` or `b` lies on the vertex: no ray, no angle.

    Examples
    --------
    >>> round(angle_at_deg((0, 0), (1, -1), (1, 1)), 9)
    90.0
    """
    arm_a, arm_b = as_complex(a) - as_complex(vertex), as_complex(b) - as_complex(vertex)
    if arm_a == 0 or arm_b == 0:
        raise ValueError("an angle needs two arms longer than 0")
    return abs(turn_deg(arm_a, arm_b))


def angle_sd_deg(
    angle_deg: float, arm_a: float, arm_b: float, *, sigma_a: float, sigma_b: float, sigma_vertex: float
) -> float:
    """Standard deviation of an angle whose three points have independent errors, in degrees.

    First-order propagation: sd² = σA²/a² + σB²/b² + σV²(1/a² + 1/b² − 2 cosθ/(ab)).

    Parameters
    ----------
    angle_deg : float
        The angle θ.
    arm_a, arm_b : float
        Lengths of the arms, above 0, in the unit of the sigmas.
    sigma_a, sigma_b, sigma_vertex : float
        Standard deviations of a coordinate of the three points.

    Examples
    --------
    >>> round(angle_sd_deg(120, 100, 100, sigma_a=3, sigma_b=3, sigma_vertex=3), 3)
    3.844
    """
    cos_theta = np.cos(np.radians(angle_deg))
    vertex = sigma_vertex**2 * (1 / arm_a**2 + 1 / arm_b**2 - 2 * cos_theta / (arm_a * arm_b))
    return float(np.degrees(np.sqrt(sigma_a**2 / arm_a**2 + sigma_b**2 / arm_b**2 + vertex)))


def offset_from_line(point: ArrayLike, start: ArrayLike, end: ArrayLike) -> float:
    """Signed distance of `point` from the line through `start` and `end`, over the distance of those two (no unit).

    Positive on the clockwise side of the direction start -> end.

    Raises
    ------
    ValueError
        Where start and end coincide.

    Examples
    --------
    >>> offset_from_line((5, 2), (0, 0), (10, 0))
    0.2
    """
    along = as_complex(end) - as_complex(start)
    if along == 0:
        raise ValueError("a line needs two points that differ")
    return float(((as_complex(point) - as_complex(start)) / along).imag)


def propagate(
    formula: Callable[[Floats], Floats], values: Sequence[float], sigmas: Sequence[float]
) -> tuple[Floats, Floats]:
    """Values of a formula and their standard deviations, all inputs taken as independent.

    Parameters
    ----------
    formula : callable
        Takes inputs of shape (n, inputs), gives outputs of shape (n, outputs); smooth near `values`.
    values, sigmas : sequences of the same length
        The inputs and their standard deviations, each 0 or above.

    Returns
    -------
    (outputs, standard deviations) : two float arrays, shape (outputs,)
        sd² = Σ (∂f/∂xᵢ · σᵢ)², the derivatives by central differences. May hold NaN where the formula does.

    Examples
    --------
    >>> out, sd = propagate(lambda x: x[:, :1] + 2 * x[:, 1:], [1.0, 1.0], [0.3, 0.2])
    >>> out.round(6), sd.round(6)
    (array([3.]), array([0.5]))
    """
    centre = np.asarray(values, dtype=np.float64)
    spreads = np.asarray(sigmas, dtype=np.float64)
    widths = np.maximum(spreads * _STEP, (1 + np.abs(centre)) * _FINEST_STEP)
    steps = np.diag(widths)
    with np.errstate(all="ignore"):
        outputs = formula(np.vstack([centre[None], centre + steps, centre - steps]))
        count = len(centre)
        slopes = (outputs[1 : count + 1] - outputs[count + 1 :]) / (2 * widths[:, None])
        deviations = np.sqrt(((slopes * spreads[:, None]) ** 2).sum(axis=0))
    return outputs[0], deviations


def drawn(values: Sequence[float], sigmas: Sequence[float], count: int = 2048) -> Floats:
    """Inputs that differ from `values` as their standard deviations say, shape (count, inputs); the same at every call.

    Independent normal errors at evenly spread places instead of chance ones, so that quantiles settle with few of them.

    Examples
    --------
    >>> some = drawn([10.0, 0.0], [2.0, 1.0])
    >>> some.mean(axis=0).round(2), some.std(axis=0).round(2)
    (array([10.,  0.]), array([2., 1.]))
    """
    errors = _even_normals(count, len(values)) * np.asarray(sigmas, dtype=np.float64)
    inputs: Floats = np.asarray(values, dtype=np.float64) + errors
    return inputs


@cache
def _even_normals(count: int, inputs: int) -> Floats:
    """Standard normals at the places n·(1/g, 1/g², …) mod 1, with g the root of g^(inputs + 1) = g + 1.

    Reference: M. Roberts, The unreasonable effectiveness of quasirandom sequences, 2018 (from memory).
    """
    g = 2.0
    for _ in range(64):
        g = (1 + g) ** (1 / (inputs + 1))
    steps = g ** -np.arange(1.0, inputs + 1)
    places = (0.5 + np.arange(1, count + 1)[:, None] * steps) % 1
    normals: Floats = ndtri(places)
    return normals


def complex_columns(inputs: Floats, count: int) -> list[Complexes]:
    """The first `count` points of inputs laid out x, y, x, y …, each as complex numbers of shape (n,)."""
    return [inputs[:, 2 * index] + 1j * inputs[:, 2 * index + 1] for index in range(count)]
