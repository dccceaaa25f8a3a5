"""Landmarks in, all measures out: each a value with a 95 % interval, or the reason why there is none.

What each measure means and its exact value formula stand in `vision.quantities`: `head_view`, `gape`, `body` and `contact`;
a change of any of them is a change of `VERSION`.
"""

from collections.abc import Mapping

from vision.landmarks import LandmarkSet
from vision.quantities.body import alignment_angle, head_deviation, line_offset
from vision.quantities.contact import TOUCHING_NOTE, areola_balance, gap, gap_mm, mouth_opening
from vision.quantities.default_sigmas import with_default_sigmas
from vision.quantities.gape import gape_angle
from vision.quantities.head_view import face_size as _face_size
from vision.quantities.results import (
    MEASURE_NAMES,
    UNITS,
    Measure,
    NotMeasurable,
    Result,
    measure_to_json,
    not_measurable,
)
from vision.said import Said

__all__ = [
    "MEASURE_NAMES",
    "TOUCHING_NOTE",
    "UNITS",
    "VERSION",
    "Measure",
    "NotMeasurable",
    "Result",
    "face_size",
    "measure_all",
    "measure_to_json",
    "with_default_sigmas",
]

#: Version of the measuring method: the same photo, points and version give the same numbers.
VERSION = "2"

#: No accepted photo is wider or higher than this, in pixels.
_FURTHEST_PX = 1_000_000
_OUTSIDE = Said("A point lies far outside any photo.")


def measure_all(landmarks: LandmarkSet) -> dict[str, Result]:
    """Every measure of `MEASURE_NAMES`, in that order; points without a sigma get the default one.

    Examples
    --------
    >>> from vision.landmarks import Point
    >>> points = {"ear": Point(x=100, y=0), "shoulder": Point(x=100, y=90), "hip": Point(x=100, y=330)}
    >>> results = measure_all(LandmarkSet(points=points))
    >>> results["alignment_angle"].value, results["gape_angle"].reason
    (180.0, 'Not placed: mouth corner, upper lip and lower lip.')
    """
    if any(max(abs(point.x), abs(point.y)) > _FURTHEST_PX for point in landmarks.points.values()):
        return {name: not_measurable(name, _OUTSIDE) for name in MEASURE_NAMES}
    filled = with_default_sigmas(landmarks)
    results: Mapping[str, Result] = {
        "gape_angle": gape_angle(filled),
        "alignment_angle": alignment_angle(filled),
        "head_deviation": head_deviation(filled),
        "line_offset": line_offset(filled),
        "nose_gap": gap(filled, "nose_gap"),
        "chin_gap": gap(filled, "chin_gap"),
        "nose_gap_mm": gap_mm(filled, "nose_gap_mm"),
        "chin_gap_mm": gap_mm(filled, "chin_gap_mm"),
        "areola_balance": areola_balance(filled),
        "mouth_opening": mouth_opening(filled),
    }
    return {name: results[name] for name in MEASURE_NAMES}


def face_size(landmarks: LandmarkSet) -> Result:
    """The face size F in pixels with its interval, or why it cannot be had; points without a sigma get the default."""
    if any(max(abs(point.x), abs(point.y)) > _FURTHEST_PX for point in landmarks.points.values()):
        return NotMeasurable(name="face_size", unit="px", reason=_OUTSIDE)
    return _face_size(with_default_sigmas(landmarks))
