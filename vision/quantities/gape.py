"""The gape angle: at the mouth corner, between the rays to the two lip edges, in the sagittal plane of the head.

The corner that the camera sees lies half a mouth width to its side of the midline, so a head that is not seen square
from the side, or from above or below, shows the rays too long, too short or turned. They are put right before the angle
is read; the formula stands in `vision.quantities.gape_formula`, F in `vision.quantities.head_view`.

Value
-----
The formula at the placed points, with w = 0.19 and k = 0.8, ψ = 90° and φ = 0° where nobody has said them, cut to 0–180°.

A detector may have read the gape by itself, better than through its points (`LandmarkSet.gape`). While all three points
of the mouth are that detector's own, its reading is the value, and its standard deviation the interval's; as soon as a
person has moved, confirmed or removed one of them, the angle is that of the points. The two are not averaged: they come
from one look at one picture, and their errors go together.

No value: a point of the three is not placed; the view is outside what `vision.quantities.head_view` allows; a lip edge on the
corner or the nose tip on the ear (within 0.1 σ); without ear or nose tip, a lip edge within 2 σ of the corner; and where
points or direction must be mistaken, a depth below 0 or a gape below 0 or above 180° by more than 3 σ to first order.

Interval
--------
The 2.5 % and 97.5 % quantiles of the formula over 2048 draws of all inputs at once, each with its own standard deviation:
points, ψ, φ, w or r, k, u. The points of a mouth at the breast are often no further apart than they are unsure, where
first-order propagation holds no longer and a sharp rule on the depth lets through what the noise made deep. So there is
no rule but a wide interval. φ that nobody has said is 0 ± 10°, one that a detector has read is sure to 5° (assumptions);
where ear or nose tip is not placed u may be 15° off (an assumption).
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

import numpy as np

from vision.geometry import Floats, drawn, propagate
from vision.landmarks import LANDMARK_NAMES, MOUTH_IDS, LandmarkSet
from vision.quantities.default_sigmas import EAR_BREADTH_SHARE, coordinates
from vision.quantities.gape_formula import upright, with_face, without_face
from vision.quantities.head_view import head_view, hidden_notes, missing_refusal, too_close
from vision.quantities.results import NOWHERE, UNITS, Measure, Result, measured, not_measurable
from vision.said import Said

#: Half a mouth width over the face size: mean and standard deviation.
HALF_MOUTH_SHARE = (0.19, 0.03)
#: Half a mouth width over the mean depth of the lips in front of the corner: mean and standard deviation.
HALF_MOUTH_OVER_LIP_DEPTH = (1.0, 0.5)
#: How far the bisector of the rays may be from the line ear → nose tip, standard deviation in degrees.
BISECTOR_SIGMA_DEG = 15.0
#: Standard deviation of the camera's height over the face in degrees, where nobody has said it and where it was said.
UNKNOWN_ELEVATION_SIGMA_DEG, ELEVATION_SIGMA_DEG = 10.0, 5.0

READING_NOTE = Said(
    "Read by the program from the picture, not from the three points of the mouth; "
    "move one of them and it is read from your points."
)
WIDE_NOTE = Said("The points of the mouth lie too close together, for how sure they are, to tell more than this.")

_NAME = "gape_angle"
_LIPS = MOUTH_IDS[1:]
_ENDS = (0.025, 0.975)
_IMPOSSIBLE_SIGMAS = 3.0
_ON_SIGMAS = 0.1
#: From this length on an interval says so itself, in degrees.
_WIDE_DEG = 120.0


@dataclass(frozen=True, kw_only=True)
class _Model:
    formula: Callable[[Floats], Floats]
    values: tuple[float, ...]
    sigmas: tuple[float, ...]
    notes: tuple[str, ...]


def gape_angle(landmarks: LandmarkSet) -> Result:
    """The gape angle in degrees, 0 closed; every point must have its sigma (`with_default_sigmas`)."""
    refusal = missing_refusal(landmarks, MOUTH_IDS) or head_view(landmarks).refusal
    read = landmarks.counting_gape
    if refusal is None and read is not None:
        return measured(_NAME, read.deg, read.sigma_deg, low=0.0, high=180.0, notes=(READING_NOTE,))
    refusal = refusal or _on_one_another(landmarks)
    if refusal is not None:
        return not_measurable(_NAME, refusal)
    model = _model(landmarks)
    impossible = _impossible(model, landmarks)
    return _measured(model) if impossible is None else not_measurable(_NAME, impossible)


def _measured(model: _Model) -> Result:
    with np.errstate(all="ignore"):
        (value,) = model.formula(np.array([model.values]))[:, 0]
        draws = model.formula(drawn(model.values, model.sigmas))[:, 0]
    if not (isfinite(value) and np.isfinite(draws).all()):
        return not_measurable(_NAME, NOWHERE)
    value = float(np.clip(value, 0, 180))
    low, high = np.clip(np.quantile(draws, _ENDS), 0, 180)
    low, high = min(float(low), value), max(float(high), value)
    notes = (*model.notes, WIDE_NOTE) if high - low > _WIDE_DEG else model.notes
    return Measure(
        name=_NAME, value=value, low=low, high=high, unit=UNITS[_NAME], sd=float(draws.std()), notes=notes
    )  # fmt: skip


def _model(landmarks: LandmarkSet) -> _Model:
    """The formula with its inputs and what to say with it."""
    view = head_view(landmarks)
    yaw = (view.yaw_deg, view.sigma_deg)
    has_face = landmarks.get("ear") is not None and landmarks.get("nose_tip") is not None
    points = (*MOUTH_IDS, "nose_tip", "ear") if has_face else MOUTH_IDS
    elevation = landmarks.camera_elevation_deg
    height = (0.0, UNKNOWN_ELEVATION_SIGMA_DEG) if elevation is None else (elevation, ELEVATION_SIGMA_DEG)
    constants = (
        (HALF_MOUTH_SHARE, EAR_BREADTH_SHARE, yaw, height)
        if has_face
        else (HALF_MOUTH_OVER_LIP_DEPTH, (0.0, BISECTOR_SIGMA_DEG), yaw)
    )
    values, sigmas = coordinates([landmarks.points[name] for name in points])
    places = upright(*(complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True)))
    values = [part for place in places for part in (place.real, place.imag)]
    notes = () if has_face else (Said("Place ear and nose tip to narrow this interval."),)
    return _Model(
        formula=with_face if has_face else without_face,
        values=(*values, *(mean for mean, _ in constants)),
        sigmas=(*sigmas, *(sigma for _, sigma in constants)),
        notes=(*view.notes, *notes, *hidden_notes(landmarks, points)),
    )


def _on_one_another(landmarks: LandmarkSet) -> str | None:
    """Why there is no ray or no direction of the face, or None where there are."""
    has_face = landmarks.get("ear") is not None and landmarks.get("nose_tip") is not None
    apart = _ON_SIGMAS if has_face else 2.0
    if any(too_close(landmarks, "mouth_corner", lip, sigmas=apart) for lip in _LIPS):
        return Said("A lip edge lies too close to the mouth corner for an angle between them.")
    if has_face and too_close(landmarks, "nose_tip", "ear", sigmas=_ON_SIGMAS):
        return Said("Ear and nose tip lie on each other, so it cannot be told which way the face points.")
    return None


def _impossible(model: _Model, landmarks: LandmarkSet) -> str | None:
    """Why these points cannot be those of a mouth seen like this, or None where they can."""
    (gape, *depths), (gape_sd, *depth_sds) = propagate(model.formula, model.values, model.sigmas)
    # An unsaid head direction is the largest part of the doubt, and the one that a student can mend at once.
    remedy = (
        Said("check the mouth, ear and nose tip, and which way the head faces")
        if landmarks.head_yaw is not None
        else Said("say first which way the head faces, then check the points")
    )
    for lip, depth, sd in zip(_LIPS, depths, depth_sds, strict=True):
        if depth < -_IMPOSSIBLE_SIGMAS * sd:
            return Said(
                "By these points the {lip} would lie behind the mouth corner: {remedy}.",
                lip=LANDMARK_NAMES[lip],
                remedy=remedy,
            )
    if abs(gape - np.clip(gape, 0, 180)) > _IMPOSSIBLE_SIGMAS * gape_sd:
        return Said("By these points the lips would lie the wrong way round: {remedy}.", remedy=remedy)
    return None
