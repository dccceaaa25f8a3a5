"""What turned copies of one face say together, and whether that may be believed."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import atan2, degrees, hypot, inf

import numpy as np
from numpy.typing import NDArray

from vision.detectors.turned_copies import Square, Turn, back, cut, turned
from vision.mediapipe_models import Corners, FaceModel

#: The copies that must agree. The mirrored ones show the model another side of the face.
TURNS = (Turn(), Turn(deg=18), Turn(deg=-18, mirrored=True), Turn(mirrored=True))
#: An upside-down face is read as an upright one, the same in all those copies. Read the other way round it is steadier.
UPSIDE_DOWN = (Turn(deg=180), Turn(deg=180, mirrored=True))
#: Distances between the two upside-down copies over those between the upright two, on turned copies of one portrait: at
#: most 0.74 in 15 wrong readings, at least 1.07 in 62 right ones. Below this the reading is not believed.
LEAST_STEADINESS = 0.9
#: Upside-down readings this near, in shares of F, found the same points and are no doubt at all.
SAME_READING = 0.2
#: A cut is so many times as wide as the face, so that a turned copy still holds the whole head.
CUT_MARGIN = 2.2
CUT_SIZE = 384
#: The copies' points may lie this share of F from their mean (root mean square), their yaws so many degrees.
MOST_SPREAD = 0.05
MOST_YAW_SPREAD_DEG = 6.0
#: F over the breadth between the mesh's ear points, measured on ray-cast babies and adults.
FACE_PER_BREADTH = 0.8

#: Mesh indices, left and right being the subject's own: each point, and its twin in a mirrored picture.
NOSE, UPPER_LIP, LOWER_LIP, CHIN = 4, 13, 14, 199  # 152 lies under the chin; 199 came nearest to its most forward point
CORNER_RIGHT, CORNER_LEFT, EYE_RIGHT, EYE_LEFT, EAR_RIGHT, EAR_LEFT = 61, 291, 33, 263, 234, 454
KEPT = (NOSE, UPPER_LIP, LOWER_LIP, CHIN, CORNER_RIGHT, CORNER_LEFT, EYE_RIGHT, EYE_LEFT, EAR_RIGHT, EAR_LEFT)
TWINS = (NOSE, UPPER_LIP, LOWER_LIP, CHIN, CORNER_LEFT, CORNER_RIGHT, EYE_LEFT, EYE_RIGHT, EAR_LEFT, EAR_RIGHT)
ROW = {index: row for row, index in enumerate(KEPT)}


@dataclass(frozen=True, kw_only=True)
class FaceReading:
    """What the copies say together.

    Parameters
    ----------
    points : float array, shape (10, 3)
        Their mean in pixels of the photo, rows as in `KEPT`.
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
        return float(self.points[ROW[NOSE], 0]), float(self.points[ROW[NOSE], 1])

    @property
    def down(self) -> NDArray[np.float64]:
        """From nose tip to chin, (x, y) in pixels."""
        return np.asarray(self.points[ROW[CHIN], :2] - self.points[ROW[NOSE], :2])

    @property
    def agrees(self) -> bool:
        """Whether the copies lie close enough together for their mean to be believed."""
        spread = float(np.sqrt(2 * (self.spread_px**2).mean()))
        steady = spread <= MOST_SPREAD * self.face_px and self.yaw_spread_deg <= MOST_YAW_SPREAD_DEG
        return steady and self.upside_down_px >= LEAST_STEADINESS * self.mirror_px

    @property
    def left_is_near(self) -> bool:
        """Whether the subject's left side is the one towards the camera."""
        return bool(self.points[ROW[CORNER_LEFT], 2] < self.points[ROW[CORNER_RIGHT], 2])

    def near(self, left: int, right: int) -> int:
        """Row of the one of two mesh indices that lies on the camera's side."""
        return ROW[left if self.left_is_near else right]


def signed_yaw_deg(points: NDArray[np.float64]) -> float:
    """Turn of the head about its own vertical: how far its line from right to left leaves the picture plane.

    For a camera level with the face this is the angle between the head's forward axis and the line to the camera. The
    line between the sides is used, since neither an open jaw nor a tipped head moves it. Positive where the left side
    is the further one.

    Parameters
    ----------
    points : float array, shape (10, 3)
        Pixels, rows as in `KEPT`, z away from the camera.
    """
    pairs = ((EAR_LEFT, EAR_RIGHT, 1.0), (EYE_LEFT, EYE_RIGHT, 1.5), (CORNER_LEFT, CORNER_RIGHT, 1.0))
    across = sum((weight * (points[ROW[left]] - points[ROW[right]]) for left, right, weight in pairs), np.zeros(3))
    return degrees(atan2(across[2], hypot(across[0], across[1])))


def take_reading(model: FaceModel, pixels: NDArray[np.uint8], place: Corners) -> FaceReading | None:
    """Ask the model about turned copies of the face at that place; None where one of them shows it no face."""
    square, middle = Square.around(place, CUT_MARGIN), place.mean(axis=0)
    picture = cut(pixels, square, CUT_SIZE)

    def seen(turn: Turn) -> NDArray[np.float64] | None:
        found = [back(copy, turn, square, CUT_SIZE) for copy in model.faces(turned(picture, turn))]
        nearest = min(found, key=lambda copy: float(np.linalg.norm(copy[NOSE, :2] - middle)), default=None)
        return None if nearest is None else nearest[list(TWINS if turn.mirrored else KEPT)]

    copies, upside_down = (_all_or_none(seen(turn) for turn in turns) for turns in (TURNS, UPSIDE_DOWN))
    return None if copies is None else _together(copies, upside_down)


def _all_or_none(copies: Iterator[NDArray[np.float64] | None]) -> NDArray[np.float64] | None:
    """Stacked, or None at the first that is missing: the rest is not asked for."""
    seen = []
    for copy in copies:
        if copy is None:
            return None
        seen.append(copy)
    return np.stack(seen)


def _together(copies: NDArray[np.float64], upside_down: NDArray[np.float64] | None) -> FaceReading:
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


def _upside_down_px(points: NDArray[np.float64], upside_down: NDArray[np.float64] | None) -> float:
    """How far two upside-down readings lie apart; infinite where one is missing or both find the very same points."""
    if upside_down is None:
        return inf
    first, second = upside_down
    same_points = max(_apart(first, points), _apart(second, points)) < SAME_READING * _face_px(points)
    return inf if same_points else _apart(first, second)


def _face_px(points: NDArray[np.float64]) -> float:
    """Face size F in pixels, from the breadth between the ears in space."""
    return float(np.linalg.norm(points[ROW[EAR_LEFT]] - points[ROW[EAR_RIGHT]])) * FACE_PER_BREADTH


def _apart(points: NDArray[np.float64], others: NDArray[np.float64]) -> float:
    return float(np.linalg.norm(points[:, :2] - others[:, :2], axis=1).mean())
