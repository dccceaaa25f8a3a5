"""From a face mesh to landmarks and head yaw, where turned copies of the face agree.

How well: measured on 440 ray-cast pictures of the `anny` body (babies and adults, six skin tones, yaw 0–115°, camera
up to 20° above or below), errors in shares of the face size F. Of the faces less than 45° off the front view and less
than 30° out of the upright 9 in 10 were answered; nose tip, upper lip and chin were then off by at most 0.2 F, head yaw
by 2.4° (root mean square, 7.6° at most). Beyond 60° the yaw reads 10° too low and above 75° no face is found: both are
left out. A tongue in an open mouth hides the lower lip from the model (off by up to 0.28 F while all copies agree), so
that point carries a sigma for it. In a front view neither mouth corner is nearer; one is picked all the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan2, degrees, hypot, inf
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from vision.detect import Detection
from vision.landmarks import HeadYaw, LandmarkSet, Point
from vision.mediapipe_models import FaceModel, Mesh
from vision.turned_copies import Square, Turn, back, cut, turned

BY = "mediapipe_face_mesh"

#: The copies that must agree. The mirrored ones show the model another side of the face.
TURNS = (Turn(), Turn(deg=18), Turn(deg=-18, mirrored=True), Turn(mirrored=True))
#: An upside-down face is read as an upright one, the same in all those copies. Read the other way round it is steadier.
UPSIDE_DOWN = (Turn(deg=180), Turn(deg=180, mirrored=True))
#: Distances between the two upside-down copies over those between the upright two, on turned copies of one portrait: at
#: most 0.74 in 15 wrong readings, at least 1.07 in 62 right ones. Below this the reading is not believed.
LEAST_STEADINESS = 0.9
#: Upside-down readings this near, in shares of F, found the same points and are no doubt at all.
SAME_READING = 0.2
#: A cut is so many times as wide as the mesh, so that a turned copy still holds the whole head.
CUT_MARGIN = 2.2
CUT_SIZE = 384
#: The copies' points may lie this share of F from their mean (root mean square), their yaws so many degrees.
MOST_SPREAD = 0.05
MOST_YAW_SPREAD_DEG = 6.0
MOST_YAW_DEG = 50.0
SMALLEST_FACE_PX = 24.0
#: The error that the spread of copies explains was about 1.6 times that spread (measured on dolls).
ERROR_PER_SPREAD = 1.6
#: F over the breadth between the mesh's ear points, measured on the same pictures.
FACE_PER_BREADTH = 0.8

#: Mesh indices, left and right being the subject's own: each point, and its twin in a mirrored picture.
_NOSE, _UPPER, _LOWER, _CHIN = 4, 13, 14, 199  # 152 lies under the chin; 199 came nearest to its most forward point
_CORNER_RIGHT, _CORNER_LEFT, _EYE_RIGHT, _EYE_LEFT, _EAR_RIGHT, _EAR_LEFT = 61, 291, 33, 263, 234, 454
_KEPT = (_NOSE, _UPPER, _LOWER, _CHIN, _CORNER_RIGHT, _CORNER_LEFT, _EYE_RIGHT, _EYE_LEFT, _EAR_RIGHT, _EAR_LEFT)
_TWINS = (_NOSE, _UPPER, _LOWER, _CHIN, _CORNER_LEFT, _CORNER_RIGHT, _EYE_LEFT, _EYE_RIGHT, _EAR_LEFT, _EAR_RIGHT)
_ROW = {index: row for row, index in enumerate(_KEPT)}

#: Standard deviation of a coordinate that all copies share, in shares of F: at yaw 0 and at 50°, rising evenly between.
#: Measured as above, the larger of shut and open mouths; the ear against the middle of the ear.
FLOORS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "nose_tip": (0.035, 0.065),
        "upper_lip_edge": (0.03, 0.04),
        "lower_lip_edge": (0.08, 0.13),
        "mouth_corner": (0.05, 0.05),
        "chin": (0.045, 0.075),
        "ear": (0.12, 0.18),
    }
)
YAW_FLOOR_DEG = (3.0, 4.5)

UNSURE = "The face could not be found surely; place nose tip, chin, mouth corner and lips by hand."
TURNED_AWAY = (
    "The head is turned too far from the camera for the face model; "
    "place nose tip, chin, mouth corner and lips by hand."
)
TOO_SMALL = "The face is too small in this photo to find its points; place them by hand, or take the photo from nearer."
CHECK_LOWER_LIP = "A tongue in an open mouth misleads the face model: look at the lower lip's point again."


@dataclass(frozen=True, kw_only=True)
class FaceReading:
    """What the copies say together.

    Parameters
    ----------
    points : float array, shape (10, 3)
        Their mean in pixels of the photo, rows as in `_KEPT`.
    spread_px : float array, shape (10,)
        Standard deviation of a coordinate between the copies.
    yaw_deg, yaw_spread_deg : float
        Head yaw, 0 front to 90 side, and its standard deviation between the copies.
    mirror_px, upside_down_px : float
        Mean distance between the points of the upright copy and of its mirrored one, and the same with both upside down;
        infinite where one of those two shows no face.
    """

    points: NDArray[np.float64]
    spread_px: NDArray[np.float64]
    yaw_deg: float
    yaw_spread_deg: float
    mirror_px: float = 0.0
    upside_down_px: float = inf

    @property
    def face_px(self) -> float:
        """Face size F in pixels."""
        return _face_px(self.points)

    @property
    def nose(self) -> tuple[float, float]:
        """The nose tip, pixels."""
        return float(self.points[_ROW[_NOSE], 0]), float(self.points[_ROW[_NOSE], 1])

    @property
    def down(self) -> NDArray[np.float64]:
        """From nose tip to chin, (x, y) in pixels."""
        return np.asarray(self.points[_ROW[_CHIN], :2] - self.points[_ROW[_NOSE], :2])

    @property
    def agrees(self) -> bool:
        """Whether the copies lie close enough together for their mean to be believed."""
        spread = float(np.sqrt(2 * (self.spread_px**2).mean()))
        steady = spread <= MOST_SPREAD * self.face_px and self.yaw_spread_deg <= MOST_YAW_SPREAD_DEG
        return steady and self.upside_down_px >= LEAST_STEADINESS * self.mirror_px

    @property
    def left_is_near(self) -> bool:
        """Whether the subject's left side is the one towards the camera."""
        return bool(self.points[_ROW[_CORNER_LEFT], 2] < self.points[_ROW[_CORNER_RIGHT], 2])

    def near(self, left: int, right: int) -> int:
        """Row of the one of two mesh indices that lies on the camera's side."""
        return _ROW[left if self.left_is_near else right]


def signed_yaw_deg(points: NDArray[np.float64]) -> float:
    """Turn of the head about its own vertical: how far its line from right to left leaves the picture plane.

    For a camera level with the face this is the angle between the head's forward axis and the line to the camera. The
    line between the sides is used, since neither an open jaw nor a tipped head moves it. Positive where the left side
    is the further one.

    Parameters
    ----------
    points : float array, shape (10, 3)
        Pixels, rows as in `_KEPT`, z away from the camera.
    """
    pairs = ((_EAR_LEFT, _EAR_RIGHT, 1.0), (_EYE_LEFT, _EYE_RIGHT, 1.5), (_CORNER_LEFT, _CORNER_RIGHT, 1.0))
    across = sum((weight * (points[_ROW[left]] - points[_ROW[right]]) for left, right, weight in pairs), np.zeros(3))
    return degrees(atan2(across[2], hypot(across[0], across[1])))


def take_reading(model: FaceModel, pixels: NDArray[np.uint8], mesh: Mesh) -> FaceReading | None:
    """Ask the model about turned copies of that face; None where one of them shows it no face."""
    square = Square.around(mesh, CUT_MARGIN)
    picture = cut(pixels, square, CUT_SIZE)

    def seen(turn: Turn) -> NDArray[np.float64] | None:
        found = [back(copy, turn, square, CUT_SIZE) for copy in model.faces(turned(picture, turn))]
        nearest = min(found, key=lambda copy: float(np.linalg.norm(copy[_NOSE, :2] - mesh[_NOSE, :2])), default=None)
        return None if nearest is None else nearest[list(_TWINS if turn.mirrored else _KEPT)]

    copies = [copy for turn in TURNS if (copy := seen(turn)) is not None]
    if len(copies) < len(TURNS):
        return None
    return _together(np.stack(copies), [seen(turn) for turn in UPSIDE_DOWN])


def _together(copies: NDArray[np.float64], upside_down: list[NDArray[np.float64] | None]) -> FaceReading:
    yaws = np.array([signed_yaw_deg(points) for points in copies])
    points = copies.mean(axis=0)
    return FaceReading(
        points=points,
        spread_px=np.sqrt((copies[:, :, :2].var(axis=0, ddof=1)).mean(axis=1)),
        yaw_deg=abs(float(yaws.mean())),
        yaw_spread_deg=float(yaws.std(ddof=1)),
        mirror_px=_apart(copies[TURNS.index(Turn())], copies[TURNS.index(Turn(mirrored=True))]),
        upside_down_px=_upside_down_px(points, upside_down),
    )


def _upside_down_px(points: NDArray[np.float64], upside_down: list[NDArray[np.float64] | None]) -> float:
    """How far two upside-down readings lie apart; infinite where one is missing or finds the very same points."""
    first, second = upside_down
    if first is None or second is None:
        return inf
    same_points = max(_apart(first, points), _apart(second, points)) < SAME_READING * _face_px(points)
    return inf if same_points else _apart(first, second)


def _face_px(points: NDArray[np.float64]) -> float:
    """Face size F in pixels, from the breadth between the ears in space."""
    return float(np.linalg.norm(points[_ROW[_EAR_LEFT]] - points[_ROW[_EAR_RIGHT]])) * FACE_PER_BREADTH


def _apart(points: NDArray[np.float64], others: NDArray[np.float64]) -> float:
    return float(np.linalg.norm(points[:, :2] - others[:, :2], axis=1).mean())


def read_face(reading: FaceReading | None) -> Detection:
    """The landmarks of a face, or none and why."""
    refusal = _refusal(reading)
    if reading is None or refusal:
        return Detection(landmarks=LandmarkSet(), notes=(refusal or UNSURE,))
    rows = {
        "nose_tip": _ROW[_NOSE],
        "upper_lip_edge": _ROW[_UPPER],
        "lower_lip_edge": _ROW[_LOWER],
        "mouth_corner": reading.near(_CORNER_LEFT, _CORNER_RIGHT),
        "chin": _ROW[_CHIN],
        "ear": reading.near(_EAR_LEFT, _EAR_RIGHT),
    }
    points = {name: _point(reading, name, row) for name, row in rows.items()}
    yaw_floor = float(np.interp(reading.yaw_deg, (0, MOST_YAW_DEG), YAW_FLOOR_DEG))
    yaw_sigma = hypot(yaw_floor, ERROR_PER_SPREAD * reading.yaw_spread_deg)
    yaw = HeadYaw(deg=reading.yaw_deg, sigma_deg=yaw_sigma, by=BY)
    return Detection(landmarks=LandmarkSet(points=points, head_yaw=yaw), notes=(CHECK_LOWER_LIP,))


def _refusal(reading: FaceReading | None) -> str | None:
    if reading is None or not reading.agrees:
        return UNSURE
    if reading.face_px < SMALLEST_FACE_PX:
        return TOO_SMALL
    return TURNED_AWAY if reading.yaw_deg > MOST_YAW_DEG else None


def _point(reading: FaceReading, name: str, row: int) -> Point:
    x, y = reading.points[row, :2]
    floor = float(np.interp(reading.yaw_deg, (0, MOST_YAW_DEG), FLOORS[name])) * reading.face_px
    sigma = hypot(floor, ERROR_PER_SPREAD * float(reading.spread_px[row]))
    return Point(x=float(x), y=float(y), sigma=sigma, by=BY)
