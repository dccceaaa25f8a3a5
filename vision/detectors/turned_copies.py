"""Square cuts of a photo, turned and mirrored, and the way back from such a copy to the photo.

A model that is sure of its ground says the same of a copy; how far its answers lie apart tells how far to trust them.
"""

from dataclasses import dataclass
from math import ceil, floor

import cv2
import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, kw_only=True)
class Square:
    """A square region: pixels of the upright photo, x right, y down; it may reach over the photo's edge."""

    left: float
    top: float
    side: float

    @classmethod
    def around(cls, points: NDArray[np.float64], margin: float) -> "Square":
        """The square around these (x, y, ...) rows, `margin` times as wide as their larger extent."""
        low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
        side = float((high - low).max()) * margin
        left, top = (low + high) / 2 - side / 2
        return cls(left=float(left), top=float(top), side=side)


@dataclass(frozen=True, kw_only=True)
class Turn:
    """What is done to a copy: mirrored left to right first, then turned about its middle (degrees, clockwise)."""

    deg: float = 0.0
    mirrored: bool = False

    def matrix(self, size: int) -> NDArray[np.float64]:
        """The 2 × 3 matrix from the cut to its copy, both `size` pixels wide."""
        middle = size / 2
        turn = cv2.getRotationMatrix2D((middle, middle), -self.deg, 1.0)
        if not self.mirrored:
            return np.asarray(turn, dtype=np.float64)
        mirror = np.array([[-1.0, 0.0, size], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
        return np.asarray(turn @ mirror, dtype=np.float64)


def cut(pixels: NDArray[np.uint8], square: Square, size: int) -> NDArray[np.uint8]:
    """That square as a picture `size` pixels wide, black beyond the photo's edge, without aliasing where it shrinks."""
    height, width = pixels.shape[:2]
    x0, y0 = (min(max(floor(low), 0), most) for low, most in ((square.left, width), (square.top, height)))
    x1 = min(max(ceil(square.left + square.side), x0), width)
    y1 = min(max(ceil(square.top + square.side), y0), height)
    if x1 == x0 or y1 == y0:
        return np.zeros((size, size, 3), np.uint8)
    # Whole-number shrinking first: it is quick, and what is left is too little to alias.
    factor = max(1, floor(square.side / size))
    rows, columns = ceil((y1 - y0) / factor), ceil((x1 - x0) / factor)
    region = pixels[y0 : min(y0 + rows * factor, height), x0 : min(x0 + columns * factor, width)]
    rows, columns = region.shape[0] // factor, region.shape[1] // factor
    if factor > 1 and rows and columns:
        exact = region[: rows * factor, : columns * factor]
        region = np.asarray(cv2.resize(exact, (columns, rows), interpolation=cv2.INTER_AREA), dtype=np.uint8)
    else:
        factor = 1
    matrix = np.array([[factor, 0.0, x0 - square.left], [0.0, factor, y0 - square.top]]) * (size / square.side)
    return _warped(region, matrix, size)


def turned(picture: NDArray[np.uint8], turn: Turn) -> NDArray[np.uint8]:
    """A copy of a square picture, turned; black where nothing was."""
    size = picture.shape[0]
    if turn == Turn():
        return picture
    return _warped(picture, turn.matrix(size), size)


def _warped(picture: NDArray[np.uint8], matrix: NDArray[np.float64], size: int) -> NDArray[np.uint8]:
    # OpenCV counts from pixel middles, the frame here from the corner of the first pixel.
    half = np.array([0.5, 0.5])
    shifted = np.column_stack([matrix[:, :2], matrix[:, 2] + matrix[:, :2] @ half - half])
    return np.asarray(cv2.warpAffine(picture, shifted, (size, size), flags=cv2.INTER_LINEAR), dtype=np.uint8)


def back(points: NDArray[np.float64], turn: Turn, square: Square, size: int) -> NDArray[np.float64]:
    """Points (x, y, z, ...) of a turned copy as points of the photo; z is scaled alike, further columns stay.

    Examples
    --------
    >>> square = Square(left=10, top=20, side=50)
    >>> back(np.array([[100.0, 0.0, 8.0]]), Turn(mirrored=True), square, 100).tolist()
    [[10.0, 20.0, 4.0]]
    """
    matrix = turn.matrix(size)
    scale = square.side / size
    result = np.array(points, dtype=np.float64)
    result[:, :2] = np.linalg.solve(matrix[:, :2], (points[:, :2] - matrix[:, 2]).T).T * scale + [
        square.left,
        square.top,
    ]
    if result.shape[1] > 2:
        result[:, 2] *= scale
    return result
