"""The gape as a formula of points in the picture, the head's direction and the shape of a head.

Symbols
-------
Points are complex numbers x + iy of a picture that shows the head's right side, or is mirrored so that it seems to:
there the mouth lies clockwise of the line ear → nose tip. u = (nose − ear)/|nose − ear|; for each lip edge P the ray
(P − corner)/u is H + iV, H along the face and V across it, downwards. ψ is the head's yaw, φ how far the camera looks
down on the face, F the face size, w half a mouth width and k half the breadth between the ears over F.

    c = √(sin²ψ − sin²φ)            q = sin ψ + k cos ψ c / sin ψ − i k sin φ / sin ψ
    F = |nose − ear| / |q|           the rays are turned by arg q, since ear and nose tip are not equally far away
    v = (V sin ψ + w F sin φ) / c
    d = (H − v cos ψ sin φ / sin ψ − w F cos ψ c / sin ψ) / sin ψ
    gape = arg((d_lower + i v_lower) · conj(d_upper + i v_upper)) in degrees, taken in [−90, 270)

v and d are a lip edge's place below and in front of the corner in the plane of symmetry. With φ = 0 this is
d = (H − w F cos ψ)/sin ψ, v = V. The depth keeps its sign: d and −d would be mirrored angles. What comes out below 0 or
above 180 is the points' error; it counts as 0 and 180 in the end, not before the errors have been drawn.

Where ear or nose tip is not placed: u is the bisector of the two rays in the picture (the sum of their unit vectors,
made a unit vector), φ = 0, and in place of w F stands r·m with m = (H_upper + H_lower)/2 / (sin ψ + r cos ψ): half the
mouth width taken to be r times the mean depth of the lips in front of the corner (an assumption).
"""

import numpy as np

from vision.geometry import Complexes, Floats, complex_columns, turn_deg

#: Steepest line of sight and directions that the formula is asked for when errors are drawn, in degrees.
_STEEPEST_DEG = 35.0
_YAW_DEG = (40.0, 140.0)
#: Where the circle is cut open: as far from 0 as from 180.
_LEAST_DEG = -90.0


def with_face(inputs: Floats) -> Floats:
    """Columns: gape in degrees, not yet cut to 0–180, depth of the upper and of the lower lip edge in pixels.

    Parameters
    ----------
    inputs : array, shape (n, 14)
        x and y of corner, upper lip, lower lip, nose tip and ear; w, k, ψ and φ in degrees.
    """
    corner, upper, lower, nose, ear = complex_columns(inputs, 5)
    w, k, yaw_deg, looks_down_deg = inputs[:, 10:].T
    sin_psi, cos_psi = _direction(yaw_deg)
    sin_phi = np.sin(np.radians(np.clip(looks_down_deg, -_STEEPEST_DEG, _STEEPEST_DEG)))
    c = np.sqrt(sin_psi**2 - sin_phi**2)
    q = sin_psi + k * cos_psi * c / sin_psi - 1j * k * sin_phi / sin_psi
    axis = nose - ear
    forward = axis / np.abs(axis)
    half_mouth = w * np.abs(axis) / np.abs(q)
    flat = []
    for lip in (upper, lower):
        ray = (lip - corner) / forward * q / np.abs(q)
        v = (ray.imag * sin_psi + half_mouth * sin_phi) / c
        along = ray.real - v * cos_psi * sin_phi / sin_psi - half_mouth * cos_psi * c / sin_psi
        flat.append(along / sin_psi + 1j * v)
    return _angle_and_depths(*flat)


def without_face(inputs: Floats) -> Floats:
    """The same columns.

    Parameters
    ----------
    inputs : array, shape (n, 9)
        x and y of corner, upper and lower lip; r, the bisector's error and ψ in degrees.
    """
    corner, upper, lower = complex_columns(inputs, 3)
    r, tilt_deg, yaw_deg = inputs[:, 6:].T
    sin_psi, cos_psi = _direction(yaw_deg)
    rays = upper - corner, lower - corner
    bisector = rays[0] / np.abs(rays[0]) + rays[1] / np.abs(rays[1])
    forward = bisector / np.abs(bisector) * np.exp(1j * np.radians(tilt_deg))
    along = rays[0] / forward, rays[1] / forward
    half_mouth = r * (along[0].real + along[1].real) / 2 / (sin_psi + r * cos_psi)
    upper_flat, lower_flat = ((ray.real - half_mouth * cos_psi) / sin_psi + 1j * ray.imag for ray in along)
    return _angle_and_depths(upper_flat, lower_flat)


def upright(
    corner: complex, upper: complex, lower: complex, nose: complex | None = None, ear: complex | None = None
) -> tuple[complex, ...]:
    """The given points in a picture that shows the right side of a head that looks along x, as the formulas want it.

    Without ear or nose tip the bisector of the rays stands for the face, and the lower lip is on the lower side. Errors
    drawn in this frame are the same whichever way the photo is turned or mirrored.
    """
    if nose is None or ear is None:
        places: tuple[complex, ...] = (corner, upper, lower)
        rays = [(lip - corner) / abs(lip - corner) for lip in (upper, lower)]
        forward = rays[0] + rays[1]
        left_side = (rays[1] * rays[0].conjugate()).imag < 0
    else:
        places = (corner, upper, lower, nose, ear)
        forward = nose - ear
        left_side = ((corner - (nose + ear) / 2) * forward.conjugate()).imag < 0
    turned = [(place - corner) * forward.conjugate() / abs(forward or 1) for place in places]
    return tuple(place.conjugate() if left_side else place for place in turned)


def _direction(yaw_deg: Floats) -> tuple[Floats, Floats]:
    psi = np.radians(np.clip(yaw_deg, *_YAW_DEG))
    return np.sin(psi), np.cos(psi)


def _angle_and_depths(upper: Complexes, lower: Complexes) -> Floats:
    gape = turn_deg(upper, lower)
    return np.column_stack([np.where(gape < _LEAST_DEG, gape + 360, gape), upper.real, lower.real])
