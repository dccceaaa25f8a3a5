"""The project's own detector for babies and dolls seen from the side, also with the mouth at the breast, at any turn.

Two small networks, trained on renders only, run by OpenCV. It proposes all landmarks but the scale marks, the head's
yaw, how far the camera looks down on the face, and whether the trunk is turned. What it is not sure of it leaves out
and says so; on photos of real babies it is unproven. How it was trained and what was measured: `models/CARD.md`.
"""

import json
from collections.abc import Container
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from vision.detect import Box, Detection
from vision.detectors.profile_answers import CHIN, CORNER, EAR, LOWER, NAMES, NOSE, UPPER, Reading
from vision.detectors.profile_search import MODELS, Search, Searcher
from vision.errors import ModelUnavailable
from vision.landmarks import (
    LANDMARK_NAMES,
    MOUTH_IDS,
    BodyView,
    GapeReading,
    HeadYaw,
    LandmarkSet,
    Point,
    Visibility,
)
from vision.said import Said, together

BY = "profile_net"

#: A face counts as found where: the looks at the whole picture put it within so many face sizes of each other; it is
#: turned from the camera by no more than so many degrees, and the network's own error of that stays below the other; ear
#: and nose lie as far apart as size and yaw say, within a factor. On 500 rendered dolls wider limits found 1 % more mouths and
#: read three heads as turned by more than 25 degrees otherwise than they are.
_MAX_APART, _MAX_YAW_DEG, _MAX_YAW_B_DEG, _FACE_RATIO = 0.25, 130.0, 9.0, (0.7, 1.6)
#: Largest standard deviation at which a point is proposed, in face sizes.
_MAX_SIGMA = {
    "mouth_corner": 0.2, "upper_lip_edge": 0.2, "lower_lip_edge": 0.2, "nose_tip": 0.1, "chin": 0.12, "ear": 0.15,
    "shoulder": 0.4, "hip": 0.7, "breast_at_nose": 0.25, "breast_at_chin": 0.25, "areola_above": 0.35,
    "areola_below": 0.35,
}  # fmt: skip
#: What is added, in face sizes and in quadrature, to the standard deviation of a point: how far dolls differ from those
#: in training where one must guess. A lip that turns out further than expected behind the breast shows nothing of it.
_FLOOR, _HIDDEN_FLOOR = 0.01, 0.045
#: A point is left out where this likely to lie outside the photo or not to exist.
_MAX_ABSENT = 0.5
#: The trunk counts as turned above this, and as seen from its side below the other, degrees off its own side view.
_TURNED_DEG, _SIDE_DEG = 32.0, 25.0

NO_FACE_NOTE = Said("No baby's or doll's face seen from the side was found surely: place these points by hand.")


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """Factors from what the networks say of their spread to standard deviations, found on photos kept aside.

    Parameters
    ----------
    seen, hidden : dict of landmark id to float
    yaw : float
        Of the head's yaw.
    gape, gape_power : float
        Of the gape that the network reads by itself, at a spread of 10°, and the power with which its standard deviation
        grows with that spread: where the network doubts, it errs by more than it says.
    gape_floor : float
        What is added to that in quadrature, degrees: where the network is surest, dolls still differ from those it knows.
    """

    seen: dict[str, float]
    hidden: dict[str, float]
    yaw: float
    gape: float
    gape_power: float = 1.0
    gape_floor: float = 0.0

    @classmethod
    def read(cls, path: Path) -> "Calibration":
        """From the JSON beside the models."""
        try:
            data = json.loads(path.read_text(encoding="utf-8"))
            factors = {name: float(data[name]) for name in ("yaw", "gape", "gape_power")}
            factors["gape_floor"] = float(data.get("gape_floor", 0.0))
            return cls(seen=data["seen"], hidden=data["hidden"], **factors)
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise ModelUnavailable(
                Said(
                    "The side-view model cannot be used: its calibration {file} is missing or damaged; place the points "
                    "by hand, or install this program again.",
                    file=path.name,
                )
            ) from error

    def gape_sigma(self, read: Reading) -> float:
        """Standard deviation of the gape that the network reads, degrees."""
        return self.gape_sigma_deg(float(np.hypot(read.gape_b, read.gape_spread)))

    def gape_sigma_deg(self, spread_deg: float) -> float:
        """The same from the spread that the network says of a gape."""
        return float(np.hypot(self.gape * grown(spread_deg, self.gape_power), self.gape_floor))


def grown(spread_deg: float, power: float) -> float:
    """A spread in degrees that stays what it is at 10° and grows with that power.

    >>> grown(10.0, 1.5), round(grown(20.0, 1.5), 1)
    (10.0, 28.3)
    """
    return 10.0 * float((spread_deg / 10.0) ** power)


class ProfileDetector:
    """Proposes landmarks for a head seen from the side; models are loaded at the first photo.

    Parameters
    ----------
    folder : Path
        Where the two model files and their calibration lie.
    """

    def __init__(self, folder: Path = MODELS) -> None:
        self._folder = folder
        self._searcher = Searcher(folder)

    @cached_property
    def calibration(self) -> Calibration:
        return Calibration.read(self._folder / "profile_calibration.json")

    def detect(self, pixels: NDArray[np.uint8], box: Box | None) -> Detection:
        """See `Detector.detect`; without a box the head that the networks see best is taken."""
        read = self.read(pixels, box)
        if read is None:
            return Detection(landmarks=LandmarkSet(), notes=(NO_FACE_NOTE,))
        return self.proposed(read, pixels.shape[1], pixels.shape[0])

    def read(self, pixels: NDArray[np.uint8], box: Box | None) -> Reading | None:
        """What the networks say of that head, in the photo or, where it is not found so, in a part of it; None for no head."""
        for search in (self._searcher.search, self._searcher.search_parts):
            found = search(pixels, box)
            if face_found(found, box):
                return found.all
        return None

    def proposed(self, read: Reading, width: int, height: int) -> Detection:
        """What is proposed for a photo of that size in which this was read."""
        points: dict[str, Point] = {}
        for k, name in enumerate(NAMES):
            hidden = bool(read.chances[k, 1] > read.chances[k, 2])
            factor = (self.calibration.hidden if hidden else self.calibration.seen)[name]
            sigma = float(np.hypot(factor * raw_sigma(read, k), (_HIDDEN_FLOOR if hidden else _FLOOR) * read.face))
            x, y = (float(v) for v in read.points[k])
            inside = 0 <= x <= width and 0 <= y <= height
            if not inside or read.chances[k, 0] > _MAX_ABSENT or sigma > _MAX_SIGMA[name] * read.face:
                continue
            points[name] = Point(
                x=x, y=y, sigma=sigma, by=BY, visibility=Visibility.HIDDEN if hidden else Visibility.SEEN
            )
        sigma_yaw = self.calibration.yaw * float(np.hypot(read.yaw_b, read.yaw_spread))
        landmarks = LandmarkSet(
            points=points,
            head_yaw=HeadYaw(deg=min(read.yaw_deg, 180.0), sigma_deg=sigma_yaw, by=BY),
            camera_elevation_deg=read.elevation_deg,
            body_view=_body_view(read, points),
            gape=self._gape(read) if all(name in points for name in MOUTH_IDS) else None,
        )
        return Detection(landmarks=landmarks, notes=not_found(points))

    def _gape(self, read: Reading) -> GapeReading:
        """What the network reads of the gape by itself, which beats the angle between its points."""
        return GapeReading(deg=read.gape_deg, sigma_deg=self.calibration.gape_sigma(read), by=BY)


def not_found(placed: Container[str]) -> tuple[Said, ...]:
    """A sentence that names those of the network's landmarks that are not placed; none where all are.

    >>> not_found({name for name in NAMES if name != "hip"})
    ('Not found surely, place these points by hand: hip.',)
    """
    missing = together([LANDMARK_NAMES[name] for name in NAMES if name not in placed], between=", ")
    return (Said("Not found surely, place these points by hand: {points}.", points=missing),) if missing else ()


def raw_sigma(read: Reading, k: int) -> float:
    """The spread that a network predicts for one landmark, and that over the copies, as one number in pixels."""
    return float(np.hypot(read.b[k], read.spread[k]))


def _body_view(read: Reading, points: dict[str, Point]) -> BodyView:
    if "shoulder" not in points or "hip" not in points or _SIDE_DEG < read.trunk_off_deg < _TURNED_DEG:
        return BodyView.UNKNOWN
    return BodyView.TURNED if read.trunk_off_deg >= _TURNED_DEG else BodyView.SIDE


def face_found(found: Search, box: Box | None) -> bool:
    """Whether what was read hangs together like a face, and lies in the box where there is one."""
    read = found.all
    yaw = np.radians(read.yaw_deg)
    expected = read.face * max(float(np.sin(yaw) + 0.75 * np.cos(yaw)), 0.25)
    ratio = float(np.hypot(*(read.points[NOSE] - read.points[EAR]))) / expected
    down = -read.up
    heights = [float(read.points[k] @ down) / read.face for k in (NOSE, UPPER, LOWER, CHIN)]
    in_order = all(b > a - 0.2 for a, b in pairwise(heights))
    mouth = read.points[[CORNER, UPPER, LOWER]].mean(axis=0)
    in_box = box is None or box.holds(float(mouth[0]), float(mouth[1]))
    sure = found.apart < _MAX_APART and read.yaw_b < _MAX_YAW_B_DEG and read.yaw_deg < _MAX_YAW_DEG
    return sure and _FACE_RATIO[0] < ratio < _FACE_RATIO[1] and in_order and in_box
