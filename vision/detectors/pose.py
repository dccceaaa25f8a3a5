"""From a body pose to shoulder, hip and ear, where turned copies of the photo agree.

The pose model is made for people who stand or sit. On 160 ray-cast `anny` bodies with arms spread it was off by 0.24,
0.12 and 0.16 of the face size F a coordinate (ear, shoulder, hip); on rendered dolls held at a breast by 0.4–0.5, 0.3
and 0.25 F and more (median distance), while its copies agreed to 0.06 F. So what it says is a place to start dragging
from: every point carries the larger figure as its sigma, and a point that it does not see is left out.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import hypot
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from vision.detect import Detection
from vision.detectors.face_mesh import ERROR_PER_SPREAD
from vision.detectors.face_reading import FaceReading
from vision.detectors.turned_copies import Square, Turn, back, turned
from vision.landmarks import LANDMARK_NAMES, BodyView, LandmarkSet, Point
from vision.mediapipe_models import BodyModel
from vision.said import Said, together

BY = "mediapipe_pose"

TURNS = (Turn(), Turn(deg=15, mirrored=True))
#: A point counts as seen from here on, in every copy; hips out of the picture were given 0 to 0.5.
LEAST_VISIBILITY = 0.8
#: A point's copies may lie this share of F from their mean.
MOST_SPREAD = 0.25
#: Standard deviation of a coordinate in shares of F: the dolls' median distances over 1.18 (a plane's normal errors).
FLOORS: Mapping[str, float] = MappingProxyType({"ear": 0.38, "shoulder": 0.26, "hip": 0.28})
#: The trunk from shoulder to hip is about 2.4 F long in a baby.
TRUNK_FACES = 2.4
#: Shoulders further apart than this share of the trunk's length were never seen within 30° of the side view (58 of 58).
TURNED_FROM_RATIO = 0.45

#: Pose indices of the subject's left and right.
SIDES: Mapping[str, tuple[int, int]] = MappingProxyType({"ear": (7, 8), "shoulder": (11, 12), "hip": (23, 24)})
_NOSE = 0
_KEPT = (0, 7, 8, 11, 12, 23, 24)
_TWINS = (0, 8, 7, 12, 11, 24, 23)
_ROW = {index: row for row, index in enumerate(_KEPT)}

NO_BODY = Said("No body was found surely; place ear, shoulder and hip by hand.")
CHECK_BODY = Said(
    "Ear, shoulder and hip from the body model are rough: drag each to its place before reading the body line."
)


@dataclass(frozen=True, kw_only=True)
class BodyReading:
    """What the copies say together.

    Parameters
    ----------
    copies : float array, shape (copies, 7, 4)
        x, y, z in pixels of the photo and visibility; rows as in `_KEPT`.
    """

    copies: NDArray[np.float64]

    @property
    def points(self) -> NDArray[np.float64]:
        """The copies' mean, shape (7, 4)."""
        return np.asarray(self.copies.mean(axis=0))

    @property
    def nose(self) -> tuple[float, float]:
        """Where the head is, pixels."""
        return float(self.points[_ROW[_NOSE], 0]), float(self.points[_ROW[_NOSE], 1])

    @property
    def face_px(self) -> float:
        """A rough face size, pixels: the largest that nose, ears and trunk suggest, so that no sigma is too small."""
        points = self.points[:, :2]
        ears = [points[_ROW[index]] for index in SIDES["ear"]]
        lengths = [float(np.linalg.norm(ear - points[_ROW[_NOSE]])) for ear in ears]
        return max(*lengths, (self._trunk_px() or 0.0) / TRUNK_FACES)

    @property
    def left_is_near(self) -> bool:
        """Whether the subject's left side is the one towards the camera."""
        depth = self.points[:, 2]
        return sum(float(depth[_ROW[left]] - depth[_ROW[right]]) for left, right in SIDES.values()) < 0

    def seen(self, *indices: int) -> bool:
        """Whether every copy sees all these pose points."""
        return bool((self.copies[:, [_ROW[index] for index in indices], 3] >= LEAST_VISIBILITY).all())

    def spread_px(self, index: int) -> float:
        """Standard deviation of a coordinate of that point between the copies."""
        return float(np.sqrt(self.copies[:, _ROW[index], :2].var(axis=0, ddof=1).mean()))

    def turned_ratio(self) -> float | None:
        """Least distance between the shoulders in any copy over the trunk's length; None where a hip is not seen."""
        trunk = self._trunk_px()
        if trunk is None:
            return None
        left, right = (self.copies[:, _ROW[index], :2] for index in SIDES["shoulder"])
        return float(np.linalg.norm(left - right, axis=1).min()) / max(trunk, 1.0)

    def middle(self, name: str) -> NDArray[np.float64] | None:
        """The place (x, y) between the left and the right one; None where a copy does not see both."""
        if not self.seen(*SIDES[name]):
            return None
        return np.asarray(self.points[[_ROW[index] for index in SIDES[name]], :2].mean(axis=0))

    def _trunk_px(self) -> float | None:
        shoulders, hips = self.middle("shoulder"), self.middle("hip")
        return None if shoulders is None or hips is None else float(np.linalg.norm(shoulders - hips))


def take_reading(model: BodyModel, picture: NDArray[np.uint8], square: Square) -> BodyReading | None:
    """Ask the model about turned copies of a square cut of the photo; None where one of them shows it no body."""
    size = picture.shape[0]
    copies = []
    for turn in TURNS:
        found = model.pose(turned(picture, turn))
        if found is None:
            return None
        copies.append(back(found, turn, square, size)[list(_TWINS if turn.mirrored else _KEPT)])
    return BodyReading(copies=np.stack(copies))


def read_body(reading: BodyReading | None, face: FaceReading | None = None) -> Detection:
    """The landmarks of a body, with what is missing and why.

    Parameters
    ----------
    reading : BodyReading or None
    face : FaceReading or None
        The same person's face, which knows its size and its nearer side better than the pose does.
    """
    if reading is None:
        return Detection(landmarks=LandmarkSet(), notes=(NO_BODY,))
    size = reading.face_px if face is None else face.face_px
    side = 0 if (reading if face is None else face).left_is_near else 1
    points = {name: point for name, pair in SIDES.items() if (point := _point(reading, name, pair[side], size))}
    if not points:
        return Detection(landmarks=LandmarkSet(), notes=(NO_BODY,))
    missing = [name for name in SIDES if name not in points]
    ratio = reading.turned_ratio()
    # SIDE is never said: the model's word for it was not tried on held babies, and it would take a caution away.
    view = BodyView.TURNED if ratio is not None and ratio > TURNED_FROM_RATIO else BodyView.UNKNOWN
    notes = (CHECK_BODY, not_seen(missing)) if missing else (CHECK_BODY,)
    return Detection(landmarks=LandmarkSet(points=points, body_view=view), notes=notes)


def not_seen(missing: Iterable[str]) -> Said:
    """A note on the landmarks of these ids."""
    names = together((LANDMARK_NAMES[name] for name in missing), between=", ")
    return Said("Not surely in sight for the body model, so place by hand: {points}.", points=names)


def _point(reading: BodyReading, name: str, index: int, face_px: float) -> Point | None:
    spread = reading.spread_px(index)
    if not reading.seen(index) or spread > MOST_SPREAD * face_px:
        return None
    x, y = reading.points[_ROW[index], :2]
    return Point(x=float(x), y=float(y), sigma=hypot(FLOORS[name] * face_px, ERROR_PER_SPREAD * spread), by=BY)
