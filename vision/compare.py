"""One set of points against another: a student's own against the reference, and a first round against a second."""

from dataclasses import dataclass
from math import hypot, sqrt

from vision.landmarks import LandmarkSet
from vision.measures import face_size
from vision.quantities.results import Measure, NotMeasurable
from vision.said import Said

#: A student's own sigma needs so many points placed twice; two coordinates each, it is then known to about 30 %.
MIN_POINTS_TWICE = 3


@dataclass(frozen=True, kw_only=True)
class PointDifference:
    """How far the own point lies from the reference point.

    Parameters
    ----------
    px : float
        Distance in pixels.
    dx, dy : float
        Own minus reference in pixels, x right, y down.
    percent_of_face : float or None
        The distance in % of the face size; None where neither set tells the face size.
    """

    px: float
    dx: float
    dy: float
    percent_of_face: float | None


@dataclass(frozen=True, kw_only=True)
class OwnSigma:
    """A person's own repeatability: the standard deviation of one coordinate of one click, in pixels."""

    sigma_px: float
    n_points: int


def point_differences(own: LandmarkSet, reference: LandmarkSet) -> dict[str, PointDifference]:
    """Differences of the points that both sets have, in the order of the reference.

    The face size is that of the reference, or of the own points where the reference does not tell it.
    """
    sizes = [size.value for size in (face_size(reference), face_size(own)) if isinstance(size, Measure)]
    face_px = sizes[0] if sizes else None
    differences = {}
    for name, theirs in reference.points.items():
        mine = own.get(name)
        if mine is not None:
            differences[name] = _difference(mine.x - theirs.x, mine.y - theirs.y, face_px)
    return differences


def own_sigma(first: LandmarkSet, second: LandmarkSet) -> OwnSigma | NotMeasurable:
    """Repeatability from points placed twice, the second time blind: σ² = Σ(Δx² + Δy²) / (4n).

    A difference of two clicks has twice the variance of one, and every point gives two coordinates: hence the 4. This
    is repeatability, not accuracy: whoever twice clicks the same wrong place is very repeatable.

    Examples
    --------
    >>> from vision.landmarks import Point
    >>> names = ("nose_tip", "chin", "ear")
    >>> first = LandmarkSet(points={name: Point(x=0, y=0) for name in names})
    >>> second = LandmarkSet(points={name: Point(x=2, y=2) for name in names})
    >>> own_sigma(first, second)
    OwnSigma(sigma_px=1.4142135623730951, n_points=3)
    """
    both = [name for name in first.points if second.get(name) is not None]
    if len(both) < MIN_POINTS_TWICE:
        return _none(
            Said(
                "At least {least} points must be placed twice, and {n} are so far.", least=MIN_POINTS_TWICE, n=len(both)
            )
        )
    pairs = [(first.points[name], second.points[name]) for name in both]
    squares = sum((b.x - a.x) ** 2 + (b.y - a.y) ** 2 for a, b in pairs)
    if squares == 0:
        return _none(_THE_SAME)
    return OwnSigma(sigma_px=sqrt(squares / (4 * len(pairs))), n_points=len(pairs))


def _difference(dx: float, dy: float, face_px: float | None) -> PointDifference:
    px = hypot(dx, dy)
    return PointDifference(px=px, dx=dx, dy=dy, percent_of_face=100 * px / face_px if face_px else None)


_THE_SAME = Said("Both rounds are the same to the last pixel, so they do not tell how repeatable a click is.")


def _none(reason: str) -> NotMeasurable:
    return NotMeasurable(name="own_sigma", unit="px", reason=reason)
