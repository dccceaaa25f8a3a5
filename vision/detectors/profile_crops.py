"""Square crops of a photo at any turn, and the way back from a crop's pixels to the photo's.

Coordinates: pixels, x right, y down, origin at the top-left corner of the top-left pixel, in photo and crop alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin

import cv2
import numpy as np
from numpy.typing import NDArray

#: Side of what the networks look at, in pixels.
CROP_PX = 256
#: Display value of what lies outside the photo; the networks were trained with the same.
FILL = 114
#: How a display value enters the networks.
MIDDLE, SPAN = 127.5, 64.0

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Frame:
    """A square of the photo as a network sees it.

    Parameters
    ----------
    x, y : float
        Centre, pixels of the photo.
    side : float
        Length of an edge, pixels of the photo.
    turn_deg : float
        How far the crop's up direction is turned clockwise from the photo's.
    mirrored : bool
        Whether the crop is seen in a mirror.

    Examples
    --------
    >>> frame = Frame(x=50, y=50, side=100, turn_deg=90)
    >>> frame.to_photo(frame.to_crop(np.array([[10.0, 20.0]]))).round(6).tolist()
    [[10.0, 20.0]]
    >>> frame.to_crop(np.array([[100.0, 50.0]])).round(6).tolist()  # the photo's right is the crop's up
    [[128.0, 0.0]]
    """

    x: float
    y: float
    side: float
    turn_deg: float = 0.0
    mirrored: bool = False

    @property
    def scale(self) -> float:
        """Crop pixels a photo pixel."""
        return CROP_PX / self.side

    @property
    def linear(self) -> Floats:
        """(2, 2) from a step in the photo to the same step in the crop."""
        a = radians(self.turn_deg)
        turn = np.array([[cos(a), sin(a)], [-sin(a), cos(a)]])
        if self.mirrored:
            turn[0] *= -1
        return turn * self.scale

    def to_crop(self, points: Floats) -> Floats:
        """Crop pixels of photo pixels (..., 2)."""
        moved: Floats = (points - np.array([self.x, self.y])) @ self.linear.T + CROP_PX / 2
        return moved

    def to_photo(self, points: Floats) -> Floats:
        """Photo pixels of crop pixels (..., 2)."""
        moved: Floats = (points - CROP_PX / 2) @ np.linalg.inv(self.linear).T + np.array([self.x, self.y])
        return moved

    def direction_to_photo(self, direction: Floats) -> Floats:
        """A direction (..., 2) in the photo, its length kept."""
        turned: Floats = direction @ (np.linalg.inv(self.linear) * self.scale).T
        return turned


class Levels:
    """A photo and its halves, each made at first use: a far look at a large photo then costs little and stays smooth."""

    def __init__(self, pixels: Pixels) -> None:
        self._levels = [pixels]

    def at(self, scale: float) -> tuple[Pixels, float]:
        """The smallest level that still has at least `scale` of the photo's pixels along an edge, and its share."""
        level = 0
        while 0.5 ** (level + 1) >= scale and min(self._levels[level].shape[:2]) > 1:
            level += 1
            if level == len(self._levels):
                height, width = self._levels[-1].shape[:2]
                size = max(1, round(width / 2)), max(1, round(height / 2))
                half = cv2.resize(self._levels[-1], size, interpolation=cv2.INTER_AREA)
                self._levels.append(half.astype(np.uint8, copy=False))
        return self._levels[level], self._levels[level].shape[1] / self._levels[0].shape[1]


def cut(levels: Levels, frame: Frame) -> Pixels:
    """The crop, (256, 256, 3)."""
    source, share = levels.at(min(frame.scale, 1.0))
    linear = frame.linear / share
    # warpAffine counts from the middle of the first pixel.
    centre = np.array([frame.x, frame.y]) * share
    shift = linear @ (np.array([0.5, 0.5]) - centre) + CROP_PX / 2 - 0.5
    out = cv2.warpAffine(
        source,
        np.column_stack([linear, shift]),
        (CROP_PX, CROP_PX),
        flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=(FILL,) * 3,
    )
    return out.astype(np.uint8, copy=False)


def network_input(crops: Sequence[Pixels]) -> NDArray[np.float32]:
    """(n, 3, 256, 256) as the networks take it."""
    stacked = np.stack(crops).transpose(0, 3, 1, 2).astype(np.float32)
    return np.ascontiguousarray((stacked - MIDDLE) / SPAN)
