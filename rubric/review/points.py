"""Where a class clicks: the spread of each landmark on each photo, as an ellipse."""

from dataclasses import dataclass
from math import degrees

import numpy as np
from numpy.typing import NDArray

from rubric.errors import InvalidRatings

Floats = NDArray[np.float64]

#: Fewer clicks than this have no ellipse: two always lie on a line.
FEWEST_CLICKS = 3


@dataclass(frozen=True, kw_only=True, eq=False)
class PointTable:
    """Landmarks by student and photo, in pixels of the upright photo (x right, y down).

    Parameters
    ----------
    students, photos, landmarks : tuple of str
    points : array of float, shape (students, photos, landmarks, 2)
        NaN where a student placed none.
    key : array of float, shape (photos, landmarks, 2)
        NaN where the key has none.
    """

    students: tuple[str, ...]
    photos: tuple[str, ...]
    landmarks: tuple[str, ...]
    points: Floats
    key: Floats

    def __post_init__(self) -> None:
        shape = (len(self.photos), len(self.landmarks), 2)
        for field, wanted in (("points", (len(self.students), *shape)), ("key", shape)):
            own = np.array(getattr(self, field), dtype=np.float64)
            if own.shape != wanted or np.isinf(own).any():
                raise InvalidRatings(f"{field} must be finite numbers of shape {wanted}, got shape {own.shape}")
            own.flags.writeable = False
            object.__setattr__(self, field, own)


@dataclass(frozen=True, kw_only=True)
class Ellipse:
    """The spread of one landmark on one photo, about one standard deviation along each axis.

    For normally spread clicks it holds about 39 % of them; 2.45 times the axes hold 95 %.

    Parameters
    ----------
    photo, landmark : str
    n : int
        Clicks.
    x, y : float
        Their mean, in pixels.
    long_axis, short_axis : float
        Standard deviations along the axes, in pixels, long_axis >= short_axis.
    angle_deg : float
        Of the long axis from the x axis towards the y axis, so clockwise on the screen, in (-90, 90].
    key_x, key_y : float or None
        The key's point.
    off_key : float or None
        From the key's point to the mean of the clicks, in pixels.
    """

    photo: str
    landmark: str
    n: int
    x: float
    y: float
    long_axis: float
    short_axis: float
    angle_deg: float
    key_x: float | None
    key_y: float | None
    off_key: float | None


def landmark_ellipses(table: PointTable) -> tuple[Ellipse, ...]:
    """An ellipse for each photo and landmark with three clicks or more, photo by photo.

    The axes are the square roots of the eigenvalues of the 2 × 2 covariance matrix of the clicks (divisor n - 1), their
    directions its eigenvectors. One click far off pulls at it: look at the photo.
    """
    points = table.points
    placed = ~np.isnan(points).any(axis=-1, keepdims=True)
    n = placed.sum(axis=0)[..., 0]
    enough = n >= FEWEST_CLICKS
    held = np.where(placed, points, 0.0)
    mean = held.sum(axis=0) / np.maximum(n, 1)[..., None]
    off = np.where(placed, points - mean, 0.0)
    covariance = np.einsum("spli,splj->plij", off, off) / np.maximum(n - 1, 1)[..., None, None]
    values, vectors = np.linalg.eigh(covariance)
    return tuple(
        _ellipse(table, place, int(n[place]), mean[place], values[place], vectors[place])
        for place in zip(*np.nonzero(enough), strict=True)
    )


def _ellipse(
    table: PointTable, place: tuple[int, ...], n: int, mean: Floats, values: Floats, vectors: Floats
) -> Ellipse:
    short, long = np.sqrt(np.maximum(values, 0.0))
    turn = degrees(np.arctan2(vectors[1, 1], vectors[0, 1]))
    key = table.key[place]
    known = not np.isnan(key).any()
    return Ellipse(
        photo=table.photos[place[0]],
        landmark=table.landmarks[place[1]],
        n=n,
        x=float(mean[0]),
        y=float(mean[1]),
        long_axis=float(long),
        short_axis=float(short),
        angle_deg=90.0 - (90.0 - turn) % 180.0,
        key_x=float(key[0]) if known else None,
        key_y=float(key[1]) if known else None,
        off_key=float(np.hypot(*(mean - key))) if known else None,
    )
