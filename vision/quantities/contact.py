"""Lengths at the breast: gaps of nose and chin, mouth opening, and how the areola in sight is shared out.

A length between two placed points is never negative, but its errors are: it is differentiated along its own
direction, so that a length of 0 keeps the spread of its two points, and the interval is cut at 0 afterwards.

Value formulas
--------------
gap % = 100 |tip − breast| / F and gap mm = |tip − breast| · mm per pixel; F as in `vision.quantities.head_view`.

opening mm = |Δh / sin ψ + i Δv| · mm per pixel, with Δh + iΔv = (lower − upper)·conj(u) and u along ear → nose tip;
where ear or nose tip is not placed or ψ is unknown, the distance in the picture. Half the mouth width cancels here.

balance = above / (above + below), above = |areola_above − upper lip|, below = |areola_below − lower lip|; a point on
the lip edge says that none is in sight on that side (length 0), a point that is not placed says nothing.
"""

from math import hypot

import numpy as np

from vision.geometry import Complexes, Floats, complex_columns, propagate
from vision.landmarks import LandmarkSet, Scale
from vision.quantities.default_sigmas import EAR_BREADTH_SHARE, coordinates, sigma_px
from vision.quantities.head_view import face_px, face_refusal, head_view, hidden_notes, missing_refusal, too_close
from vision.quantities.results import Result, measured, not_measurable
from vision.said import Said

TOUCHING_NOTE = Said("Touching or nearly: the gap is smaller than what its two points can tell.")
NO_SCALE = Said("No scale is known for this photo, so nothing can be said in millimetres.")

_AS_SEEN = Said("This is the distance in the picture: set the head direction, ear and nose tip to put it right.")
_NO_AREOLA = Said("No areola is in sight beyond either lip, so there is nothing to share out.")

_GAPS = {"nose_gap": ("nose_tip", "breast_at_nose"), "chin_gap": ("chin", "breast_at_chin")}


def gap(landmarks: LandmarkSet, name: str) -> Result:
    """`nose_gap` or `chin_gap`: distance of that point from the breast, % of the face size."""
    pair = _GAPS[name]
    refusal = missing_refusal(landmarks, pair) or face_refusal(landmarks)
    if refusal is not None:
        return not_measurable(name, refusal)
    view, names = head_view(landmarks), tuple(dict.fromkeys((*pair, "nose_tip", "ear")))
    places = [names.index(used) for used in (*pair, "nose_tip", "ear")]
    direction = _direction(landmarks, *pair)

    def formula(inputs: Floats) -> Floats:
        columns = complex_columns(inputs, len(names))
        tip, breast, nose, ear = (columns[place] for place in places)
        size = face_px(np.abs(nose - ear), inputs[:, -2], inputs[:, -1])
        return (100 * _along(breast - tip, direction) / size)[:, None]

    values, sigmas = coordinates([landmarks.points[used] for used in names])
    (share,), (sd,) = propagate(
        formula, [*values, EAR_BREADTH_SHARE[0], view.yaw_deg], [*sigmas, EAR_BREADTH_SHARE[1], view.sigma_deg]
    )
    return measured(name, share, sd, low=0.0, notes=(*view.notes, *_gap_notes(landmarks, pair)))


def gap_mm(landmarks: LandmarkSet, name: str) -> Result:
    """`nose_gap_mm` or `chin_gap_mm`: the same distance in millimetres."""
    pair = _GAPS[name.removesuffix("_mm")]
    refusal = missing_refusal(landmarks, pair) or head_view(landmarks).refusal
    if refusal is not None or landmarks.scale is None:
        return not_measurable(name, refusal or NO_SCALE)
    length, sd = _length_mm(landmarks, *pair, landmarks.scale)
    return measured(name, length, sd, low=0.0, notes=_gap_notes(landmarks, pair))


def mouth_opening(landmarks: LandmarkSet) -> Result:
    """Distance between the two lip edges in millimetres, put right for the view where that is known."""
    lips = ("upper_lip_edge", "lower_lip_edge")
    refusal = missing_refusal(landmarks, lips) or head_view(landmarks).refusal
    if refusal is not None or landmarks.scale is None:
        return not_measurable("mouth_opening", refusal or NO_SCALE)
    if face_refusal(landmarks) is not None or not head_view(landmarks).known:
        length, sd = _length_mm(landmarks, *lips, landmarks.scale)
        notes = (_AS_SEEN,)
        return measured("mouth_opening", length, sd, low=0.0, notes=(*notes, *hidden_notes(landmarks, lips)))
    length, sd = _opening_mm(landmarks, landmarks.scale)
    return measured("mouth_opening", length, sd, low=0.0, notes=hidden_notes(landmarks, lips))


def areola_balance(landmarks: LandmarkSet) -> Result:
    """Share of the areola in sight that lies above the upper lip, 0 to 1."""
    pairs = (("upper_lip_edge", "areola_above"), ("lower_lip_edge", "areola_below"))
    names = (*pairs[0], *pairs[1])
    refusal = missing_refusal(landmarks, names)
    if refusal is not None:
        return not_measurable("areola_balance", refusal)
    if all(too_close(landmarks, *pair) for pair in pairs):
        return not_measurable("areola_balance", _NO_AREOLA)
    directions = [_direction(landmarks, *pair) for pair in pairs]

    def formula(inputs: Floats) -> Floats:
        upper, above, lower, below = complex_columns(inputs, 4)
        lengths = _along(above - upper, directions[0]), _along(below - lower, directions[1])
        return (lengths[0] / (lengths[0] + lengths[1]))[:, None]

    (share,), (sd,) = propagate(formula, *coordinates([landmarks.points[name] for name in names]))
    notes = (*_areola_mm(landmarks, pairs), *hidden_notes(landmarks, names))
    return measured("areola_balance", share, sd, low=0.0, high=1.0, notes=notes)


def _areola_mm(landmarks: LandmarkSet, pairs: tuple[tuple[str, str], ...]) -> tuple[str, ...]:
    if landmarks.scale is None:
        return ()
    above, below = (_length_mm(landmarks, *pair, landmarks.scale)[0] for pair in pairs)
    return (
        Said(
            "In sight: about {above:.0f} mm above the upper lip and {below:.0f} mm below the lower one.",
            above=above,
            below=below,
        ),
    )


def _length_mm(landmarks: LandmarkSet, first: str, second: str, scale: Scale) -> tuple[float, float]:
    """Distance of two points in millimetres and its standard deviation."""
    a, b = landmarks.points[first], landmarks.points[second]
    pixels, pixels_sd = hypot(b.x - a.x, b.y - a.y), hypot(sigma_px(a), sigma_px(b))
    return pixels * scale.mm_per_pixel, hypot(pixels_sd * scale.mm_per_pixel, pixels * scale.sigma)


def _opening_mm(landmarks: LandmarkSet, scale: Scale) -> tuple[float, float]:
    view = head_view(landmarks)
    names = ("upper_lip_edge", "lower_lip_edge", "nose_tip", "ear")
    values, sigmas = coordinates([landmarks.points[name] for name in names])
    centre = np.array([[*values, view.yaw_deg, scale.mm_per_pixel]])
    flat = complex(_flat_opening(centre)[0])
    direction = flat / abs(flat) if flat else 1 + 0j
    (length,), (sd,) = propagate(
        lambda inputs: _along(_flat_opening(inputs), direction)[:, None],
        centre[0].tolist(),
        [*sigmas, view.sigma_deg, scale.sigma],
    )
    return float(length), float(sd)


def _flat_opening(inputs: Floats) -> Complexes:
    """The vector from upper to lower lip edge in the sagittal plane, millimetres."""
    upper, lower, nose, ear = complex_columns(inputs, 4)
    seen = (lower - upper) / ((nose - ear) / np.abs(nose - ear))
    flat: Complexes = (seen.real / np.sin(np.radians(inputs[:, -2])) + 1j * seen.imag) * inputs[:, -1]
    return flat


def _direction(landmarks: LandmarkSet, first: str, second: str) -> complex:
    """Unit vector from one point to another; any where they coincide, as the errors are the same in all directions."""
    a, b = landmarks.points[first], landmarks.points[second]
    vector = complex(b.x - a.x, b.y - a.y)
    return vector / abs(vector) if vector else 1 + 0j


def _along(vectors: Complexes, direction: complex) -> Floats:
    along: Floats = (vectors * np.conj(direction)).real
    return along


def _gap_notes(landmarks: LandmarkSet, pair: tuple[str, str]) -> tuple[str, ...]:
    touching = (TOUCHING_NOTE,) if too_close(landmarks, *pair) else ()
    return (*touching, *hidden_notes(landmarks, pair))
