"""How far several people's points of one photo lie from each other, landmark by landmark, and where that is more than clicking."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import hypot, log, sqrt

from vision.landmarks import LANDMARK_IDS, LandmarkSet, Point
from vision.measures import face_size, with_default_sigmas
from vision.quantities.results import Measure

#: Two clicks whose coordinates differ with a standard deviation of s lie within s times this in 99 of 100 pairs: the root of
#: chi-square's 99th percentile with two degrees of freedom, -2 ln 0.01.
_WITHIN_99 = sqrt(-2 * log(0.01))


@dataclass(frozen=True, kw_only=True)
class PointSpread:
    """One landmark as two or more people placed it.

    Parameters
    ----------
    landmark : str
    n : int
        People who placed it.
    apart_px : float
        From each other: the largest distance between two of their points, in pixels.
    apart_percent : float or None
        The same in % of the face size; None where nobody's points tell the face size.
    parts : bool
        Two of them lie further apart than 99 of 100 pairs of careful clicks on this landmark would.
    """

    landmark: str
    n: int
    apart_px: float
    apart_percent: float | None
    parts: bool


def point_spreads(sets: Sequence[LandmarkSet]) -> tuple[PointSpread, ...]:
    """The landmarks that two or more placed, in the usual order.

    What a careful click is follows from the default sigma of each landmark (twice that where it is hidden), whoever or whatever
    proposed the points. The face size is the mean of those that the sets tell.

    Examples
    --------
    >>> def placed(x):
    ...     face = {"nose_tip": Point(x=100, y=0), "ear": Point(x=0, y=0), "chin": Point(x=x, y=60)}
    ...     return LandmarkSet(points=face)
    >>> [(one.landmark, one.apart_px, one.parts) for one in point_spreads([placed(80), placed(95)])]
    [('nose_tip', 0.0, False), ('chin', 15.0, True), ('ear', 0.0, False)]
    """
    sizes = [size.value for size in map(face_size, sets) if isinstance(size, Measure)]
    face_px = sum(sizes) / len(sizes) if sizes else None
    clicks = [_as_clicks(one) for one in sets]
    spreads = []
    for landmark in LANDMARK_IDS:
        points = [point for one in clicks if (point := one.get(landmark)) is not None]
        if len(points) > 1:
            spreads.append(_spread(landmark, points, face_px))
    return tuple(spreads)


def _as_clicks(landmarks: LandmarkSet) -> LandmarkSet:
    """With the default sigma of every point in place of its own, which may be a detector's."""
    points = {name: replace(point, sigma=None) for name, point in landmarks.points.items()}
    return with_default_sigmas(replace(landmarks, points=points))


def _spread(landmark: str, points: Sequence[Point], face_px: float | None) -> PointSpread:
    pairs = [(hypot(a.x - b.x, a.y - b.y), hypot(a.sigma or 0, b.sigma or 0)) for a, b in combinations(points, 2)]
    apart = max(distance for distance, _ in pairs)
    return PointSpread(
        landmark=landmark,
        n=len(points),
        apart_px=apart,
        apart_percent=100 * apart / face_px if face_px else None,
        parts=any(sigma > 0 and distance > _WITHIN_99 * sigma for distance, sigma in pairs),
    )
