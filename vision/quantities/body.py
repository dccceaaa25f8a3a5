"""The body line: ear, shoulder and hip in the picture plane.

Value formulas
--------------
Points are complex numbers x + iy, x right, y down. With line = shoulder − hip and head = ear − shoulder:

    δ = arg(head · conj(line)) in degrees, in (−180, 180]         alignment = 180 − |δ|
    s = sign of arg((nose − ear) · conj(line))                     head deviation = s δ
    line offset = 100 |Im((shoulder − ear) / (hip − ear))|

The head deviation is positive where the ear has left the produced hip → shoulder line on the side to which the face
looks (head forward), negative on the other (head back). No value: a point is not placed; the trunk is turned
(`BodyView.TURNED`); two neighbours on the line (ear and shoulder, shoulder and hip) on each other, within 0.1 σ; for the
offset ear and hip within 2σ; for the head deviation also a face that looks along the line, |sin arg((nose − ear) ·
conj(line))| < sin 10°, where forward and back are a matter of chance.

Interval
--------
The 2.5 % and 97.5 % quantiles of δ over 2048 draws of the three points, since ear and shoulder are often not much
further apart than they are unsure; the offset's to first order.
"""

from dataclasses import replace
from math import radians, sin

import numpy as np

from vision.geometry import Floats, complex_columns, drawn, propagate, turn_deg
from vision.landmarks import BodyView, LandmarkSet
from vision.quantities.default_sigmas import coordinates
from vision.quantities.head_view import hidden_notes, missing_refusal, too_close
from vision.quantities.results import UNITS, Measure, Result, measured, not_measurable
from vision.said import Said

#: Below this angle between the face's direction and the body line forward and back cannot be told apart, in degrees.
MIN_FACE_TO_LINE_DEG = 10.0

#: Points this many standard deviations apart lie on each other.
_ON_SIGMAS = 0.1

_LINE = ("ear", "shoulder", "hip")
_TURNED = Said(
    "The trunk is turned away from its side view, so the line in the picture is not the line of the body: "
    "take the photo square to the baby's side."
)
_VIEW_UNKNOWN = Said("It is not said whether the trunk is seen square from its side; a turned trunk changes this.")

_COINCIDE = {
    ("ear", "shoulder"): Said("The ear and the shoulder lie on each other, so there is no angle between them."),
    ("shoulder", "hip"): Said("The shoulder and the hip lie on each other, so there is no angle between them."),
}
_ALONG = Said("The face looks along the body line, so forward and back cannot be told apart.")


def alignment_angle(landmarks: LandmarkSet) -> Result:
    """Angle at the shoulder between ear and hip, degrees, 180 where they lie on one line.

    The interval is that of the signed deviation, folded at 180.
    """
    refusal = _line_refusal(landmarks)
    if refusal is not None:
        return not_measurable("alignment_angle", refusal)
    signed = _deviation(landmarks)
    nearest = 0.0 if signed.low <= 0 <= signed.high else min(abs(signed.low), abs(signed.high))
    furthest = min(180.0, max(abs(signed.low), abs(signed.high)))
    return replace(
        signed,
        name="alignment_angle",
        value=180 - abs(signed.value),
        low=180 - furthest,
        high=180 - nearest,
        notes=_notes(landmarks),
    )


def head_deviation(landmarks: LandmarkSet) -> Result:
    """Signed bend of the line at the shoulder, degrees, + head forward, − head back."""
    refusal = _line_refusal(landmarks) or missing_refusal(landmarks, ("nose_tip",))
    if refusal is not None:
        return not_measurable("head_deviation", refusal)
    side = _face_side(landmarks)
    if side is None:
        return not_measurable("head_deviation", _ALONG)
    signed = _deviation(landmarks)
    low, high = sorted((side * signed.low, side * signed.high))
    notes = (*_notes(landmarks), *hidden_notes(landmarks, ("nose_tip",)))
    return replace(signed, value=side * signed.value, low=max(low, -180.0), high=min(high, 180.0), notes=notes)


def line_offset(landmarks: LandmarkSet) -> Result:
    """Distance of the shoulder from the line ear–hip, % of that line's length."""
    refusal = missing_refusal(landmarks, _LINE) or _turned(landmarks)
    if refusal is None and too_close(landmarks, "ear", "hip"):
        refusal = Said("Ear and hip lie too close together for a line between them.")
    if refusal is not None:
        return not_measurable("line_offset", refusal)
    (offset,), (sd,) = propagate(_offset_formula, *coordinates([landmarks.points[name] for name in _LINE]))
    return measured("line_offset", abs(offset), sd, low=0.0, notes=_notes(landmarks))


def _deviation(landmarks: LandmarkSet) -> Measure:
    """δ with its interval, which may reach beyond 180 where it is wider than that.

    Drawn with the line along x and the bend clockwise, so that a turned or mirrored photo has the same interval.
    """
    values, sigmas = coordinates([landmarks.points[name] for name in _LINE])
    ear, shoulder, hip = (complex(x, y) for x, y in zip(values[::2], values[1::2], strict=True))
    line = (shoulder - hip) / abs(shoulder - hip)
    ear, hip = (ear - shoulder) * line.conjugate(), (hip - shoulder) * line.conjugate()
    sign = -1 if ear.imag < 0 else 1
    inputs = (ear.real, sign * ear.imag, 0.0, 0.0, hip.real, hip.imag)
    bend = float(_deviation_formula(np.array([inputs]))[0, 0])
    draws = bend + (_deviation_formula(drawn(inputs, sigmas))[:, 0] - bend + 180) % 360 - 180
    low, high = (float(end) for end in np.quantile(draws, (0.025, 0.975)))
    low, high = sorted((sign * min(low, bend), sign * max(high, bend)))
    return Measure(
        name="head_deviation",
        unit=UNITS["head_deviation"],
        value=sign * bend,
        low=low,
        high=high,
        sd=float(draws.std()),
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
    for pair, coincide in _COINCIDE.items():
        if too_close(landmarks, *pair, sigmas=_ON_SIGMAS):
            return coincide
    return None


def _turned(landmarks: LandmarkSet) -> str | None:
    return _TURNED if landmarks.body_view == BodyView.TURNED else None


def _notes(landmarks: LandmarkSet) -> tuple[str, ...]:
    unsaid = (_VIEW_UNKNOWN,) if landmarks.body_view == BodyView.UNKNOWN else ()
    return (*unsaid, *hidden_notes(landmarks, _LINE))


def _deviation_formula(inputs: Floats) -> Floats:
    ear, shoulder, hip = complex_columns(inputs, 3)
    return turn_deg(shoulder - hip, ear - shoulder)[:, None]


def _offset_formula(inputs: Floats) -> Floats:
    ear, shoulder, hip = complex_columns(inputs, 3)
    offset: Floats = np.imag((shoulder - ear) / (hip - ear))
    return 100 * offset[:, None]
