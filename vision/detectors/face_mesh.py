"""From a face mesh to landmarks and head yaw, where turned copies of the face agree.

How well: measured on 440 ray-cast pictures of the `anny` body (babies and adults, six skin tones, yaw 0–115°, camera
up to 20° above or below), errors in shares of the face size F. Of the faces less than 45° off the front view 123 of 131
were answered where they were less than 30° out of the upright and 7 of 31 where they were more, of those beyond 60° of
yaw none. Nose tip, upper lip and chin were then off by at most 0.18 F, head yaw by 2.4° (root mean square, 9.2° at
most). Plain readings beyond 60° give the yaw 10° too low, so nothing above 50° is believed. A tongue in an open mouth
hides the lower lip from the model (off by up to 0.27 F while all copies agree), so that point carries a sigma for it.
In a front view neither mouth corner is nearer; one is picked all the same.
"""

from collections.abc import Mapping
from math import hypot
from types import MappingProxyType

import numpy as np

from vision.detect import Detection
from vision.detectors.face_reading import (
    CHIN,
    CORNER_LEFT,
    CORNER_RIGHT,
    EAR_LEFT,
    EAR_RIGHT,
    LOWER_LIP,
    NOSE,
    ROW,
    UPPER_LIP,
    FaceReading,
)
from vision.landmarks import HeadYaw, LandmarkSet, Point
from vision.said import Said

BY = "mediapipe_face_mesh"

MOST_YAW_DEG = 50.0
SMALLEST_FACE_PX = 24.0
#: The error that the spread of copies explains was about 1.6 times that spread (measured on dolls).
ERROR_PER_SPREAD = 1.6

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

UNSURE = Said("The face could not be found surely; place nose tip, chin, mouth corner and lips by hand.")
TURNED_AWAY = Said(
    "The head is turned too far from the camera for the face model; "
    "place nose tip, chin, mouth corner and lips by hand."
)
TOO_SMALL = Said(
    "The face is too small in this photo to find its points; place them by hand, or take the photo from nearer."
)
CHECK_LOWER_LIP = Said("A tongue in an open mouth misleads the face model: look at the lower lip's point again.")


def read_face(reading: FaceReading | None) -> Detection:
    """The landmarks of a face, or none and why."""
    refusal = _refusal(reading)
    if reading is None or refusal:
        return Detection(landmarks=LandmarkSet(), notes=(refusal or UNSURE,))
    rows = {
        "nose_tip": ROW[NOSE],
        "upper_lip_edge": ROW[UPPER_LIP],
        "lower_lip_edge": ROW[LOWER_LIP],
        "mouth_corner": reading.near(CORNER_LEFT, CORNER_RIGHT),
        "chin": ROW[CHIN],
        "ear": reading.near(EAR_LEFT, EAR_RIGHT),
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
