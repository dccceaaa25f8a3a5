"""A doll's profile drawn from a few shapes, with points that are known because the drawing is made from them."""

import cv2
import numpy as np

from vision.landmarks import BodyView, HeadYaw, LandmarkSet, Point
from vision.photo import Photo

#: Points of the drawing at 1600 × 1200, pixels, x right, y down.
DOLL_POINTS = {
    "ear": (760, 420),
    "shoulder": (615, 620),
    "hip": (360, 1000),
    "nose_tip": (985, 395),
    "mouth_corner": (935, 470),
    "upper_lip_edge": (985, 445),
    "lower_lip_edge": (985, 520),
    "chin": (935, 578),
    "areola_above": (1015, 395),
    "areola_below": (1000, 545),
    "breast_at_nose": (1020, 380),
    "breast_at_chin": (965, 590),
}


def doll_landmarks(scale: float = 1.0) -> LandmarkSet:
    points = {name: Point(x=x * scale, y=y * scale) for name, (x, y) in DOLL_POINTS.items()}
    return LandmarkSet(points=points, head_yaw=HeadYaw(deg=84, sigma_deg=8), body_view=BodyView.SIDE)


def doll_photo(width: int = 1600, height: int = 1200, skin: tuple[int, int, int] = (201, 150, 116)) -> Photo:
    """The drawing for a picture of that size; the doll is drawn as for 1600 × 1200."""
    step = width / 1600
    canvas = np.full((height, width, 3), (92, 104, 110), dtype=np.uint8)

    def oval(x: float, y: float, wide: float, high: float, turn: float, colour: tuple[int, int, int]) -> None:
        box = ((x * step, y * step), (2 * wide * step, 2 * high * step), turn)
        cv2.ellipse(canvas, box, colour, -1, cv2.LINE_AA)

    shade = tuple(int(part * 0.86) for part in skin)
    oval(1330, 520, 330, 420, 0, (176, 120, 96))
    oval(1010, 480, 45, 110, 0, (120, 72, 62))
    oval(500, 800, 330, 150, -54, (226, 222, 205))
    oval(800, 400, 190, 200, 10, skin)
    oval(965, 398, 26, 20, 20, skin)
    oval(905, 545, 60, 45, 20, skin)
    oval(960, 480, 36, 44, 0, (86, 30, 34))
    oval(760, 420, 26, 42, 0, shade)
    return Photo(pixels=canvas)
