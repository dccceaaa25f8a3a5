"""The gape angle: at the mouth corner, between the rays to the two lip edges, in the sagittal plane of the head.

The corner that the camera sees lies half a mouth width to its side of the midline, so a head that is not seen square
from the side shows the rays too long or too short along the face. They are put right before the angle is read.

Value formula
-------------
Points are complex numbers x + iy. u = (nose − ear)/|nose − ear|; for each lip edge P the ray (P − corner)·conj(u) is
h + iv, h along the face, v across it. F as in `vision.head_view`, w = 0.19, ψ = 90° where nobody has said it:

    d = (h − w F cos ψ) / sin ψ          gape = |arg((d_lower + i v_lower) · conj(d_upper + i v_upper))| in degrees

Where ear or nose tip is not placed: u is the bisector of the two rays in the picture (the sum of their unit vectors,
made a unit vector), and in place of w F stands r·m with r = 1.0 and m = (h_upper + h_lower)/2 / (sin ψ + r cos ψ),
which takes half the mouth width to be as long as the mean depth of the lips in front of the corner (an assumption).

A detector may have read the gape by itself, better than through its points (`LandmarkSet.gape`). While all three points
of the mouth are that detector's own, its reading is the value, and its standard deviation the interval's; as soon as a
person has moved, confirmed or removed one of them, the angle is that of the points. The two are not averaged: they come
from one look at one picture, and their errors go together.

No value: a point of the three is not placed; the view is outside what `vision.head_view` allows; nose tip and ear both
placed but within 2σ; without them, a lip edge within 2σ of the corner; a depth d <= 2 σ_d. The last one matters: d and
−d give mirrored angles, each as sure of itself as the other.

Interval
--------
First-order propagation, jointly over what both rays share: corner, ψ, w or r, k, u. Where ear or nose tip is not
placed u may be 15° off (an assumption).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from vision.default_sigmas import EAR_BREADTH_SHARE, coordinates
from vision.geometry import Complexes, Floats, complex_columns, propagate
from vision.head_view import face_px, face_refusal, head_view, hidden_notes, missing_refusal, too_close
from vision.landmarks import LANDMARK_NAMES, MOUTH_IDS, LandmarkSet
from vision.results import UNITS, NotMeasurable, Result, measured

#: Half a mouth width over the face size: mean and standard deviation.
HALF_MOUTH_SHARE = (0.19, 0.03)
#: Half a mouth width over the mean depth of the lips in front of the corner: mean and standard deviation.
HALF_MOUTH_OVER_LIP_DEPTH = (1.0, 0.5)
#: How far the bisector of the rays may be from the line ear → nose tip, standard deviation in degrees.
BISECTOR_SIGMA_DEG = 15.0

READING_NOTE = (
    "Read by the program from the picture, not from the three points of the mouth; "
    "move one of them and it is read from your points."
)

_NAME = "gape_angle"
_MOUTH = MOUTH_IDS
_LIPS = _MOUTH[1:]


@dataclass(frozen=True, kw_only=True)
class _Model:
    formula: Callable[[Floats], Floats]
    points: tuple[str, ...]
    constants: tuple[tuple[float, float], ...]
    notes: tuple[str, ...]


def gape_angle(landmarks: LandmarkSet) -> Result:
    """The gape angle in degrees, 0 closed; every point must have its sigma (`with_default_sigmas`)."""
    refusal = missing_refusal(landmarks, _MOUTH) or head_view(landmarks).refusal
    read = landmarks.counting_gape
    if refusal is None and read is not None:
        return measured(_NAME, read.deg, read.sigma_deg, low=0.0, high=180.0, notes=(READING_NOTE,))
    model = _model(landmarks) if refusal is None else refusal
    if isinstance(model, str):
        return NotMeasurable(name=_NAME, unit=UNITS[_NAME], reason=model)
    values, sigmas = coordinates([landmarks.points[name] for name in model.points])
    means, spreads = zip(*model.constants, strict=True)
    out, sd = propagate(model.formula, [*values, *means], [*sigmas, *spreads])
    for lip, depth, depth_sd in zip(_LIPS, out[1:], sd[1:], strict=True):
        if not depth > 2 * depth_sd:
            return NotMeasurable(name=_NAME, unit=UNITS[_NAME], reason=_shallow(lip, landmarks))
    notes = (*head_view(landmarks).notes, *model.notes, *hidden_notes(landmarks, model.points))
    return measured(_NAME, abs(out[0]), sd[0], low=0.0, high=180.0, notes=notes)


def lip_depths(landmarks: LandmarkSet) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """(depth d, its σ_d) of the upper and of the lower lip edge in pixels, None without their points."""
    model = _model(landmarks) if missing_refusal(landmarks, _MOUTH) is None else ""
    if isinstance(model, str):
        return None
    values, sigmas = coordinates([landmarks.points[name] for name in model.points])
    means, spreads = zip(*model.constants, strict=True)
    out, sd = propagate(model.formula, [*values, *means], [*sigmas, *spreads])
    return (float(out[1]), float(sd[1])), (float(out[2]), float(sd[2]))


def _model(landmarks: LandmarkSet) -> _Model | str:
    """The formula with its inputs, or why there is none."""
    view = head_view(landmarks)
    yaw = (view.yaw_deg, view.sigma_deg)
    if landmarks.get("ear") is not None and landmarks.get("nose_tip") is not None:
        constants = (HALF_MOUTH_SHARE, EAR_BREADTH_SHARE, yaw)
        model = _Model(formula=_with_face, points=(*_MOUTH, "nose_tip", "ear"), constants=constants, notes=())
        return face_refusal(landmarks) or model
    if any(too_close(landmarks, "mouth_corner", lip) for lip in _LIPS):
        return "A lip edge lies too close to the mouth corner for an angle between them."
    constants = (HALF_MOUTH_OVER_LIP_DEPTH, (0.0, BISECTOR_SIGMA_DEG), yaw)
    notes = ("Place ear and nose tip to narrow this interval.",)
    return _Model(formula=_without_face, points=_MOUTH, constants=constants, notes=notes)


def _shallow(lip: str, landmarks: LandmarkSet) -> str:
    # An unsaid head direction is the largest part of the doubt, and the one that a student can mend at once.
    remedy = (
        "check both points close up, or take the photo more from the side"
        if landmarks.head_yaw is not None
        else "say first which way the head faces"
    )
    return (
        f"The {LANDMARK_NAMES[lip]} lies too little in front of the mouth corner, seen along the face, for an angle "
        f"that can be relied on: {remedy}."
    )


def _with_face(inputs: Floats) -> Floats:
    corner, upper, lower, nose, ear = complex_columns(inputs, 5)
    w, k, yaw_deg = inputs[:, 10:].T
    forward = (nose - ear) / np.abs(nose - ear)
    half_mouth = w * face_px(np.abs(nose - ear), k, yaw_deg)
    return _angle_and_depths((upper - corner) / forward, (lower - corner) / forward, half_mouth, yaw_deg)


def _without_face(inputs: Floats) -> Floats:
    corner, upper, lower = complex_columns(inputs, 3)
    r, tilt_deg, yaw_deg = inputs[:, 6:].T
    rays = upper - corner, lower - corner
    bisector = rays[0] / np.abs(rays[0]) + rays[1] / np.abs(rays[1])
    forward = bisector / np.abs(bisector) * np.exp(1j * np.radians(tilt_deg))
    along = rays[0] / forward, rays[1] / forward
    mean_depth = (along[0].real + along[1].real) / 2 / (np.sin(np.radians(yaw_deg)) + r * np.cos(np.radians(yaw_deg)))
    return _angle_and_depths(*along, r * mean_depth, yaw_deg)


def _angle_and_depths(upper: Complexes, lower: Complexes, half_mouth: Floats, yaw_deg: Floats) -> Floats:
    """Columns: signed gape in degrees, depth of the upper and of the lower lip edge; rays in the frame of the face."""
    psi = np.radians(yaw_deg)
    depths = [(ray.real - half_mouth * np.cos(psi)) / np.sin(psi) for ray in (upper, lower)]
    flat = [depth + 1j * ray.imag for depth, ray in zip(depths, (upper, lower), strict=True)]
    return np.column_stack([np.degrees(np.angle(flat[1] * np.conj(flat[0]))), *depths])
