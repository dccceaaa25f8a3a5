"""Reading the marks of the scale card in a photo."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card.layout import dictionary

#: The photo is searched at this longest side, in pixels: in a photo 2.5 m wide a mark still has 14 of them.
_LONGEST_PX = 1600
#: A small picture is enlarged at most so many times.
_MOST_ENLARGED = 2.0


@dataclass(frozen=True, kw_only=True, eq=False)
class MarkSeen:
    """One mark: its id, its corners (4, 2) from its own top left clockwise in pixels of the photo, and the size in
    photo pixels of a pixel of the copy that it was read in."""

    mark: int
    corners: NDArray[np.float64]
    pixel: float


def read_marks(pixels: NDArray[np.uint8]) -> list[MarkSeen]:
    """Every mark that can be read, each once; none where a mark is there twice."""
    grey = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    factor = min(_LONGEST_PX / max(grey.shape), _MOST_ENLARGED)
    shrink = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
    copy = grey if factor == 1 else cv2.resize(grey, None, fx=factor, fy=factor, interpolation=shrink)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary(), _parameters()).detectMarkers(copy)
    if ids is None:
        return []
    height, width = grey.shape[0] / copy.shape[0], grey.shape[1] / copy.shape[1]
    seen: dict[int, MarkSeen] = {}
    for mark, quad in zip(ids.ravel().tolist(), corners, strict=True):
        # OpenCV's origin is the middle of the first pixel, ours its corner.
        places = (np.asarray(quad, dtype=np.float64).reshape(4, 2) + 0.5) * [width, height]
        if mark in seen:  # two cards, or chance: neither can be told to be the right one
            return []
        seen[mark] = MarkSeen(mark=mark, corners=places, pixel=max(width, height))
    return list(seen.values())


def _parameters() -> cv2.aruco.DetectorParameters:
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    parameters.relativeCornerRefinmentWinSize = 0.3
    parameters.cornerRefinementWinSize = 5
    parameters.minMarkerPerimeterRate = 0.02
    return parameters
