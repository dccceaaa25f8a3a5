"""An upright picture in memory: the value that the whole package passes around, cropped and reduced."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.errors import UnreadablePhoto
from vision.said import Said

#: A photo with a shorter side below this has nothing in it that could be measured, in pixels.
MIN_SIDE = 64


@dataclass(frozen=True, kw_only=True, eq=False)
class Photo:
    """An upright picture.

    Parameters
    ----------
    pixels : uint8 array, shape (height, width, 3)
        RGB; made read-only here. Frame: x right, y down, origin at the top-left corner of the top-left pixel.

    Raises
    ------
    UnreadablePhoto
        For another shape or another type of number.
    """

    pixels: NDArray[np.uint8]

    def __post_init__(self) -> None:
        if self.pixels.dtype != np.uint8 or self.pixels.ndim != 3 or self.pixels.shape[2] != 3:
            raise UnreadablePhoto(f"Pixels must be 8-bit RGB, got {self.pixels.dtype} of shape {self.pixels.shape}.")
        own = np.ascontiguousarray(self.pixels).view()
        own.flags.writeable = False
        object.__setattr__(self, "pixels", own)

    @property
    def width(self) -> int:
        """Pixels from left to right."""
        return int(self.pixels.shape[1])

    @property
    def height(self) -> int:
        """Pixels from top to bottom."""
        return int(self.pixels.shape[0])


def crop(photo: Photo, left: int, top: int, width: int, height: int) -> Photo:
    """A copy of one part of the photo, in pixels of the upright photo; parts that lie outside are left off.

    Raises
    ------
    UnreadablePhoto
        Where less than `MIN_SIDE` pixels of width or height would be left.
    """
    x0, y0 = max(0, left), max(0, top)
    x1, y1 = min(photo.width, left + width), min(photo.height, top + height)
    if x1 - x0 < MIN_SIDE or y1 - y0 < MIN_SIDE:
        came = f"{max(0, x1 - x0)} × {max(0, y1 - y0)}"
        raise UnreadablePhoto(
            Said("A cropped photo needs at least {least} × {least} pixels, got {came}.", least=MIN_SIDE, came=came)
        )
    return Photo(pixels=photo.pixels[y0:y1, x0:x1].copy())


def reduced(photo: Photo, longest: int) -> Photo:
    """The photo with its longer side at most `longest` pixels; the same photo where it is small enough already."""
    scale = longest / max(photo.width, photo.height)
    if scale >= 1:
        return photo
    size = (max(1, round(photo.width * scale)), max(1, round(photo.height * scale)))
    return Photo(pixels=np.asarray(cv2.resize(photo.pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8))
