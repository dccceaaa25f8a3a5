"""Angles, lines and the propagation of errors: pure numpy, nothing here knows a mouth or a photo.

Frame: pixels, x right, y down. A point is the complex number x + iy. Seen on the screen, a positive turn is clockwise.
"""

from collections.abc import Callable, Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

#: Central differences over this share of a standard deviation: small enough to be linear, far above rounding.
_STEP = 1e-3
#: A step never gets finer than this share of the input, or rounding would drown the difference.
_FINEST_STEP = 1e-7


def turn_deg(first: Complexes, second: Complexes) -> Floats:
    """Signed angle from each vector of `first` to that of `second`, degrees in (-180, 180], clockwise positive.

    >>> turn_deg(np.array([1 + 0j, 1 + 0j]), np.array([0 + 1j, 1 - 1j]))
    array([ 90., -45.])
    """
    turns: Floats = np.degrees(np.angle(second * np.conj(first)))
    return turns


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
    centre, spreads = np.array([values, sigmas], dtype=np.float64)
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
    inputs: Floats = np.asarray(values) + _even_normals(count, len(values)) * np.asarray(sigmas)
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
