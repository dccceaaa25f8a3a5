"""Photos of the scale card with known truth: a pinhole camera, a card at a known place, blur, noise, things on top."""

from dataclasses import dataclass
from functools import cache
from math import cos, radians, sin

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card.layout import CARD_MM, MARK_MM, MARKS_MM, mark_fields

#: Pixels a millimetre of the flat picture of the card that photos are taken of.
FINENESS = 8
#: Photos are drawn so many times too large and then reduced, as a sensor's pixels do.
OVERSAMPLING = 2


@cache
def flat_card() -> NDArray[np.uint8]:
    """The card seen square on, grey, `FINENESS` pixels a millimetre; only paper and marks."""
    width, height = (round(side * FINENESS) for side in CARD_MM)
    card = np.full((height, width), 235, np.uint8)
    for mark, (x, y) in enumerate(MARKS_MM):
        side = round(MARK_MM * FINENESS)
        fields = np.where(mark_fields(mark), 235, 25).astype(np.uint8)
        left, top = round(x * FINENESS), round(y * FINENESS)
        card[top : top + side, left : left + side] = cv2.resize(fields, (side, side), interpolation=cv2.INTER_NEAREST)
    return card


@dataclass(frozen=True, kw_only=True)
class CardView:
    """How the card is photographed: mm per pixel at its middle, tilt about an axis in the card, roll of the photo,
    place of its middle as shares of the photo, focal length over the longer side, blur and noise of the photo, and
    by what factor the printer made the card too large."""

    mm_per_pixel: float = 0.4
    tilt_deg: float = 0.0
    tilt_axis_deg: float = 0.0
    roll_deg: float = 0.0
    middle: tuple[float, float] = (0.5, 0.5)
    focal: float = 1.2
    size: tuple[int, int] = (800, 600)
    blur_px: float = 0.6
    noise: float = 2.0
    printed: float = 1.0
    ground: int = 120
    seed: int = 0

    def homography(self) -> NDArray[np.float64]:
        """Photo pixels (corner origin) from card millimetres as printed at 100 %."""
        width, height = self.size
        focal = self.focal * max(self.size)
        depth = self.mm_per_pixel * focal
        a, t, r = radians(self.tilt_axis_deg), radians(self.tilt_deg), radians(self.roll_deg)
        axis = np.array([cos(a), sin(a), 0.0])
        tilt, _ = cv2.Rodrigues(axis * t)
        roll, _ = cv2.Rodrigues(np.array([0.0, 0.0, r]))
        turn = roll @ tilt
        place = np.array([(self.middle[0] - 0.5) * width, (self.middle[1] - 0.5) * height, focal]) * depth / focal
        to_middle = np.array([[self.printed, 0, 0], [0, self.printed, 0], [0, 0, 1.0]]) @ np.array(
            [[1, 0, -CARD_MM[0] / 2], [0, 1, -CARD_MM[1] / 2], [0, 0, 1.0]]
        )
        camera = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1.0]])
        whole: NDArray[np.float64] = camera @ np.column_stack([turn[:, 0], turn[:, 1], place]) @ to_middle
        return whole

    def places(self, on_card: NDArray[np.float64]) -> NDArray[np.float64]:
        """Pixels of places on the card."""
        out = np.column_stack([on_card, np.ones(len(on_card))]) @ self.homography().T
        return np.asarray(out[:, :2] / out[:, 2:])

    def photo(self, covered: tuple[tuple[float, float, float, float], ...] = ()) -> NDArray[np.uint8]:
        """RGB pixels; `covered` are rectangles (x, y, width, height) in mm on the card with cloth over them."""
        card = flat_card().copy()
        for x, y, width, height in covered:
            left, top = round(x * FINENESS), round(y * FINENESS)
            card[max(0, top) : round((y + height) * FINENESS), max(0, left) : round((x + width) * FINENESS)] = 150
        fine = OVERSAMPLING
        # From pixel centres of the flat card to pixel centres of the fine photo.
        to_mm = np.array([[1 / FINENESS, 0, 0.5 / FINENESS], [0, 1 / FINENESS, 0.5 / FINENESS], [0, 0, 1.0]])
        to_fine = np.array([[fine, 0, -0.5], [0, fine, -0.5], [0, 0, 1.0]])
        size = (self.size[0] * fine, self.size[1] * fine)
        big = cv2.warpPerspective(
            card, to_fine @ self.homography() @ to_mm, size, flags=cv2.INTER_AREA, borderValue=float(self.ground)
        )
        small = cv2.resize(big, self.size, interpolation=cv2.INTER_AREA).astype(np.float64)
        if self.blur_px:
            small = cv2.GaussianBlur(small, (0, 0), self.blur_px)
        rng = np.random.default_rng(self.seed)
        grey = np.clip(small + rng.normal(0, self.noise, small.shape), 0, 255).astype(np.uint8)
        return np.repeat(grey[:, :, None], 3, axis=2)
