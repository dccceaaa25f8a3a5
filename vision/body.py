"""The body line: ear, shoulder and hip in the picture plane.

Value formulas
--------------
Points are complex numbers x + iy, x right, y down. With line = shoulder − hip and head = ear − shoulder:

    δ = arg(head · conj(line)) in degrees, in (−180, 180]         alignment = 180 − |δ|
    s = sign of arg((nose − ear) · conj(line))                     head deviation = s δ
    line offset = 100 |Im((shoulder − ear) / (hip − ear))|

The head deviation is positive where the ear has left the produced hip → shoulder line on the side to which the face
looks (head forward), negative on the other (head back). No value: a point is not placed; the trunk is turned
(`BodyView.TURNED`); two neighbours on the line (ear and shoulder, shoulder and hip; for the offset ear and hip)
within 2σ of each other; for the head deviation also a face that looks along the line, |sin arg((nose − ear) ·
conj(line))| < sin 10°, where forward and back are a matter of chance.
"""

from math import radians, sin

import numpy as np

from vision.default_sigmas import coordinates
from vision.geometry import Floats, complex_columns, propagate
from vision.head_view import hidden_notes, missing_refusal, too_close
from vision.landmarks import BodyView, LandmarkSet
from vision.results import UNITS, Z95, Measure, NotMeasurable, Result, measured

#: Below this angle between the face's direction and the body line forward and back cannot be told apart, in degrees.
MIN_FACE_TO_LINE_DEG = 10.0

_LINE = ("ear", "shoulder", "hip")
_TURNED = (
    "The trunk is turned away from its side view, so the line in the picture is not the line of the body: "
    "take the photo square to the baby's side."
)
_VIEW_UNKNOWN = "It is not said whether the trunk is seen square from its side; a turned trunk changes this."


def alignment_angle(landmarks: LandmarkSet) -> Result:
    """Angle at the shoulder between ear and hip, degrees, 180 where they lie on one line.

    The interval is that of the signed deviation, folded at 180.
    """
    refusal = _line_refusal(landmarks)
    if refusal is not None:
        return _none("alignment_angle", refusal)
    deviation, sd = _deviation_deg(landmarks)
    result = measured("alignment_angle", deviation, sd, low=-180.0, high=180.0, notes=_notes(landmarks))
    return _folded(result) if isinstance(result, Measure) else result


def head_deviation(landmarks: LandmarkSet) -> Result:
    """Signed bend of the line at the shoulder, degrees, + head forward, − head back."""
    refusal = _line_refusal(landmarks) or missing_refusal(landmarks, ("nose_tip",))
    if refusal is not None:
        return _none("head_deviation", refusal)
    side = _face_side(landmarks)
    if side is None:
        return _none("head_deviation", "The face looks along the body line, so forward and back cannot be told apart.")
    deviation, sd = _deviation_deg(landmarks)
    notes = (*_notes(landmarks), *hidden_notes(landmarks, ("nose_tip",)))
    return measured("head_deviation", side * deviation, sd, low=-180.0, high=180.0, notes=notes)


def line_offset(landmarks: LandmarkSet) -> Result:
    """Distance of the shoulder from the line ear–hip, % of that line's length."""
    refusal = missing_refusal(landmarks, _LINE) or _turned(landmarks)
    if refusal is None and too_close(landmarks, "ear", "hip"):
        refusal = "Ear and hip lie too close together for a line between them."
    if refusal is not None:
        return _none("line_offset", refusal)
    (offset,), (sd,) = propagate(_offset_formula, *coordinates([landmarks.points[name] for name in _LINE]))
    return measured("line_offset", abs(offset), sd, low=0.0, notes=_notes(landmarks))


def _deviation_deg(landmarks: LandmarkSet) -> tuple[float, float]:
    (deviation,), (sd,) = propagate(_deviation_formula, *coordinates([landmarks.points[name] for name in _LINE]))
    return float(deviation), float(sd)


def _folded(signed: Measure) -> Measure:
    """180 − |δ| with its interval: what lies on both sides of 0 reaches 180."""
    nearest = 0.0 if signed.low <= 0 <= signed.high else min(abs(signed.low), abs(signed.high))
    furthest = min(180.0, max(abs(signed.value - Z95 * signed.sd), abs(signed.value + Z95 * signed.sd)))
    return Measure(
        name=signed.name,
        value=180 - abs(signed.value),
        low=180 - furthest,
        high=180 - nearest,
        unit=signed.unit,
        sd=signed.sd,
        notes=signed.notes,
    )


def _face_side(landmarks: LandmarkSet) -> int | None:
    """+1 where the face looks to the clockwise side of the line hip → shoulder, −1 to the other, None along it."""
    at = {name: complex(point.x, point.y) for name, point in landmarks.points.items()}
    turn = (at["nose_tip"] - at["ear"]) * (at["shoulder"] - at["hip"]).conjugate()
    if abs(turn.imag) < sin(radians(MIN_FACE_TO_LINE_DEG)) * abs(turn) or turn == 0:
        return None
    return 1 if turn.imag > 0 else -1


def _line_refusal(landmarks: LandmarkSet) -> str | None:
    refusal = missing_refusal(landmarks, _LINE) or _turned(landmarks)
    if refusal is not None:
        return refusal
    for first, second in (("ear", "shoulder"), ("shoulder", "hip")):
        if too_close(landmarks, first, second):
            return f"The {first} and the {second} lie too close together for an angle between them."
    return None


def _turned(landmarks: LandmarkSet) -> str | None:
    return _TURNED if landmarks.body_view == BodyView.TURNED else None


def _notes(landmarks: LandmarkSet) -> tuple[str, ...]:
    unsaid = (_VIEW_UNKNOWN,) if landmarks.body_view == BodyView.UNKNOWN else ()
    return (*unsaid, *hidden_notes(landmarks, _LINE))


def _none(name: str, reason: str) -> NotMeasurable:
    return NotMeasurable(name=name, unit=UNITS[name], reason=reason)


def _deviation_formula(inputs: Floats) -> Floats:
    ear, shoulder, hip = complex_columns(inputs, 3)
    deviation: Floats = np.degrees(np.angle((ear - shoulder) * np.conj(shoulder - hip)))
    return deviation[:, None]


def _offset_formula(inputs: Floats) -> Floats:
    ear, shoulder, hip = complex_columns(inputs, 3)
    offset: Floats = np.imag((shoulder - ear) / (hip - ear))
    return 100 * offset[:, None]
