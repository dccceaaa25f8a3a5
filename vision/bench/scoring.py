"""One answer against the truth of one picture.

Landmark errors are distances in % of the true face size F (the nose–ear distance with the view taken out). A landmark
counts as asked where the truth lies in the picture and can be seen. A measure counts as asked inside its domain: for
the gape ψ from 55° to 120°, the camera at most 20° above or below, mouth corner, both lip edges, ear and nose tip in
the picture; for the body line the trunk seen from its side, ear, shoulder and hip in the picture. Points may be
hidden: at the breast some of the mouth nearly always is, and people place it all the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot

from vision.bench.renders import BenchPicture
from vision.landmarks import BodyView, LandmarkSet, Visibility
from vision.measures import Measure, measure_all
from vision.quantities.head_view import MAX_CAMERA_ELEVATION_DEG, YAW_RANGE_DEG

POINTS = ("mouth_corner", "upper_lip_edge", "lower_lip_edge", "nose_tip", "chin", "ear", "shoulder", "hip")
MOUTH = ("mouth_corner", "upper_lip_edge", "lower_lip_edge")
MEASURES = ("gape_angle", "alignment_angle")
#: An interval that misses the truth by more than this is confidently wrong, in degrees.
CONFIDENTLY_WRONG_DEG = 15.0


@dataclass(frozen=True, kw_only=True)
class PointOutcome:
    """A landmark that was asked for: its error in % of the face size, None where it was not found."""

    error_percent: float | None


@dataclass(frozen=True, kw_only=True)
class MeasureOutcome:
    """A measure of one picture.

    Parameters
    ----------
    asked : bool
        Whether the picture lies inside the measure's domain.
    error_deg : float or None
        Value minus truth; None where nothing was answered.
    half_width_deg : float or None
        Of the 95 % interval.
    covered : bool or None
        Whether the interval holds the truth.
    missed_by_deg : float or None
        How far the truth lies outside the interval, 0 inside.
    """

    asked: bool
    error_deg: float | None = None
    half_width_deg: float | None = None
    covered: bool | None = None
    missed_by_deg: float | None = None

    @property
    def confidently_wrong(self) -> bool:
        """Whether an interval was given that misses by more than `CONFIDENTLY_WRONG_DEG`."""
        return self.missed_by_deg is not None and self.missed_by_deg > CONFIDENTLY_WRONG_DEG


@dataclass(frozen=True, kw_only=True)
class Case:
    """All outcomes of one picture and one column; measures without a truth are left out."""

    picture: BenchPicture
    points: Mapping[str, PointOutcome]
    measures: Mapping[str, MeasureOutcome]


def score(picture: BenchPicture, answer: LandmarkSet) -> Case:
    """Compare one answer with the truth of its picture."""
    results = measure_all(answer)
    truths = {"gape_angle": picture.gape_deg, "alignment_angle": picture.alignment_deg}
    asked = {"gape_angle": gape_asked(picture), "alignment_angle": line_asked(picture)}
    return Case(
        picture=picture,
        points={name: _point(picture, answer, name) for name in POINTS if seen(picture, (name,))},
        measures={
            name: _measure(results[name], truth, asked[name]) for name, truth in truths.items() if truth is not None
        },
    )


def gape_asked(picture: BenchPicture) -> bool:
    """Whether the gape can be asked of this picture, as the module says."""
    low, high = YAW_RANGE_DEG
    inside = low <= picture.head_yaw_deg <= high and abs(picture.elevation_deg) <= MAX_CAMERA_ELEVATION_DEG
    return inside and all(picture.truth.get(name) is not None for name in (*MOUTH, "ear", "nose_tip"))


def line_asked(picture: BenchPicture) -> bool:
    """Whether the body line can be asked of this picture, as the module says."""
    placed = all(picture.truth.get(name) is not None for name in ("ear", "shoulder", "hip"))
    return placed and picture.truth.body_view == BodyView.SIDE


def seen(picture: BenchPicture, names: tuple[str, ...]) -> bool:
    """Whether all of these points lie in the picture with nothing before them."""
    points = [picture.truth.get(name) for name in names]
    return all(point is not None and point.visibility == Visibility.SEEN for point in points)


def _point(picture: BenchPicture, answer: LandmarkSet, name: str) -> PointOutcome:
    truth, found = picture.truth.points[name], answer.get(name)
    if found is None:
        return PointOutcome(error_percent=None)
    return PointOutcome(error_percent=100 * hypot(found.x - truth.x, found.y - truth.y) / picture.face_px)


def _measure(result: object, truth: float, asked: bool) -> MeasureOutcome:
    if not isinstance(result, Measure):
        return MeasureOutcome(asked=asked)
    missed = max(result.low - truth, truth - result.high, 0.0)
    return MeasureOutcome(
        asked=asked,
        error_deg=result.value - truth,
        half_width_deg=(result.high - result.low) / 2,
        covered=missed == 0,
        missed_by_deg=missed,
    )
