"""The landmarks of a practice photo: their names, one point, the set of a photo.

Frame of all coordinates: pixels of the upright photo, x right, y down, origin at the top-left corner of the
top-left pixel. Left and right are the subject's own.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import IntEnum
from math import isfinite
from types import MappingProxyType
from typing import Self

from vision.errors import InvalidLandmarks
from vision.said import Said

#: id -> plain name on screen. The anatomical terms stand in DEVELOPERS.md, "Words".
LANDMARK_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "mouth_corner": Said("mouth corner"),
        "upper_lip_edge": Said("upper lip"),
        "lower_lip_edge": Said("lower lip"),
        "nose_tip": Said("nose tip"),
        "chin": Said("chin"),
        "ear": Said("ear"),
        "shoulder": Said("shoulder"),
        "hip": Said("hip"),
        "areola_above": Said("areola above"),
        "areola_below": Said("areola below"),
        "breast_at_nose": Said("breast by nose"),
        "breast_at_chin": Said("breast by chin"),
        "scale_a": Said("scale mark A"),
        "scale_b": Said("scale mark B"),
    }
)

LANDMARK_IDS: tuple[str, ...] = tuple(LANDMARK_NAMES)
#: The points that the gape is the angle between.
MOUTH_IDS = ("mouth_corner", "upper_lip_edge", "lower_lip_edge")


class Visibility(IntEnum):
    """As in COCO keypoints."""

    NOT_PLACED = 0
    HIDDEN = 1
    SEEN = 2


class BodyView(IntEnum):
    """How far the baby's trunk is turned from its own side view, in the student's or a detector's word."""

    UNKNOWN = 0
    SIDE = 1
    TURNED = 2


def _finite(name: str, value: float) -> None:
    if not isfinite(value):
        raise InvalidLandmarks(f"{name} must be a finite number, got {value}")


def _positive(name: str, value: float | None) -> None:
    if value is not None and not (isfinite(value) and value > 0):
        raise InvalidLandmarks(f"{name} must be a number above 0, got {value}")


@dataclass(frozen=True, kw_only=True)
class Point:
    """One placed landmark.

    Parameters
    ----------
    x, y : float
        Pixels of the upright photo, x right, y down.
    sigma : float or None
        Standard deviation of each coordinate in pixels; None where nobody has said it.
    visibility : Visibility
        HIDDEN where the point was placed by guess behind something, SEEN where it can be seen.
    by : str
        Who placed it: "student", "reference", "file" or the name of a detector.

    Raises
    ------
    InvalidLandmarks
        For a coordinate that is not finite, a sigma that is not above 0, or visibility NOT_PLACED
        (a point that is not placed is left out of the set).
    """

    x: float
    y: float
    sigma: float | None = None
    visibility: Visibility = Visibility.SEEN
    by: str = "student"

    def __post_init__(self) -> None:
        _finite("x", self.x)
        _finite("y", self.y)
        _positive("sigma", self.sigma)
        if self.visibility == Visibility.NOT_PLACED:
            raise InvalidLandmarks("a point that is not placed has no coordinates: leave it out of the set")


@dataclass(frozen=True, kw_only=True)
class HeadYaw:
    """Angle ψ between the head's forward axis and the line from mouth to camera: 0 front, 90 side, above 90 turned away.

    Parameters
    ----------
    deg, sigma_deg : float
        Degrees in [0, 180] and their standard deviation, above 0.
    by : str
        Who said it: "student", "file" or the name of a detector.
    """

    deg: float
    sigma_deg: float
    by: str = "student"

    def __post_init__(self) -> None:
        if not (isfinite(self.deg) and 0 <= self.deg <= 180):
            raise InvalidLandmarks(f"head yaw must lie in 0 to 180 degrees, got {self.deg}")
        _positive("the standard deviation of head yaw", self.sigma_deg)


@dataclass(frozen=True, kw_only=True)
class GapeReading:
    """A detector's own reading of the gape, from the picture itself and not through the mouth's points.

    Parameters
    ----------
    deg, sigma_deg : float
        Angle in the sagittal plane, degrees in [0, 180], and its standard deviation, above 0.
    by : str
        Name of the detector, as in the points that it placed.
    """

    deg: float
    sigma_deg: float
    by: str

    def __post_init__(self) -> None:
        if not (isfinite(self.deg) and 0 <= self.deg <= 180):
            raise InvalidLandmarks(f"a gape must lie in 0 to 180 degrees, got {self.deg}")
        _positive("the standard deviation of a gape", self.sigma_deg)


#: Standard deviation of a yaw that a student chose on the strip of drawn heads, in degrees.
STUDENT_YAW_SIGMA_DEG = 8.0


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Millimetres per pixel in the plane of the face, with its standard deviation (0 where it is taken as exact)."""

    mm_per_pixel: float
    sigma: float = 0.0

    def __post_init__(self) -> None:
        _positive("millimetres per pixel", self.mm_per_pixel)
        if not (isfinite(self.sigma) and self.sigma >= 0):
            raise InvalidLandmarks(f"the standard deviation of the scale must not be negative, got {self.sigma}")


@dataclass(frozen=True, kw_only=True)
class LandmarkSet:
    """All that is known about where things lie in one photo.

    Parameters
    ----------
    points : mapping of landmark id to Point
        Only placed points. The mapping is copied and cannot be changed afterwards.
    head_yaw : HeadYaw or None
        None where nobody has said it.
    camera_elevation_deg : float or None
        How far the camera looks down on the face, negative from below; None where unknown.
    body_view : BodyView
        TURNED where the trunk is more than 30 degrees off its own side view.
    scale : Scale or None
        None where no scale is known.
    gape : GapeReading or None
        What a detector read by itself. It counts only while the mouth's points are that detector's: `counting_gape`.

    Raises
    ------
    InvalidLandmarks
        For an id that is not in LANDMARK_IDS.
    """

    points: Mapping[str, Point] = field(default_factory=dict)
    head_yaw: HeadYaw | None = None
    camera_elevation_deg: float | None = None
    body_view: BodyView = BodyView.UNKNOWN
    scale: Scale | None = None
    gape: GapeReading | None = None

    def __post_init__(self) -> None:
        unknown = [name for name in self.points if name not in LANDMARK_NAMES]
        if unknown:
            raise InvalidLandmarks(f"unknown landmark {', '.join(unknown)}; known are {', '.join(LANDMARK_IDS)}")
        if self.camera_elevation_deg is not None:
            _finite("camera elevation", self.camera_elevation_deg)
        object.__setattr__(self, "points", MappingProxyType(dict(self.points)))

    def get(self, name: str) -> Point | None:
        """The point of that id, or None where it is not placed."""
        return self.points.get(name)

    @property
    def counting_gape(self) -> GapeReading | None:
        """The detector's reading while all three points of the mouth are placed, and placed by that detector.

        A person who moves, confirms or removes one of them makes the reading void: the angle is then that of the points.
        """
        placers = {None if point is None else point.by for point in map(self.points.get, MOUTH_IDS)}
        return self.gape if self.gape is not None and placers == {self.gape.by} else None

    def with_points(self, points: Mapping[str, Point]) -> Self:
        """A copy in which these points are added or replaced."""
        return replace(self, points={**self.points, **points})

    def without(self, names: Iterable[str]) -> Self:
        """A copy in which these points are no longer placed."""
        gone = set(names)
        return replace(self, points={name: point for name, point in self.points.items() if name not in gone})
