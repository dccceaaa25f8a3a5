"""Lines, arcs and marks on pixels: each a bright stroke on a wide dark one, so that it reads on every skin tone.

Colours are from Okabe and Ito's palette for colour-blind readers; a mark's shape says the same as its colour. None of
them means anything but which group of points a mark belongs to.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import cv2
import numpy as np
from numpy.typing import NDArray

Colour = tuple[int, int, int]

YELLOW: Colour = (240, 228, 66)
SKY_BLUE: Colour = (86, 180, 233)
ORANGE: Colour = (230, 159, 0)
PINK: Colour = (204, 121, 167)
GREEN: Colour = (53, 195, 162)
WHITE: Colour = (250, 250, 250)
_DARK: Colour = (16, 18, 22)

#: cv2 takes fixed-point coordinates with this many binary digits behind the point.
_DIGITS = 4


@dataclass(frozen=True, kw_only=True)
class Group:
    """How the marks of one group of landmarks look."""

    colour: Colour
    corners: int
    turn_deg: float = 0.0


# The same colours and shapes as in the landmark editor (`screens/editor/js/landmarks.js`).
MOUTH = Group(colour=ORANGE, corners=24)
FACE = Group(colour=SKY_BLUE, corners=3, turn_deg=-90)
BODY = Group(colour=YELLOW, corners=4, turn_deg=45)
AREOLA = Group(colour=PINK, corners=4)
BREAST = Group(colour=GREEN, corners=6)
MARKS = Group(colour=WHITE, corners=8)

GROUP_OF: dict[str, Group] = {
    "mouth_corner": MOUTH,
    "upper_lip_edge": MOUTH,
    "lower_lip_edge": MOUTH,
    "nose_tip": FACE,
    "chin": FACE,
    "ear": BODY,
    "shoulder": BODY,
    "hip": BODY,
    "areola_above": AREOLA,
    "areola_below": AREOLA,
    "breast_at_nose": BREAST,
    "breast_at_chin": BREAST,
    "scale_a": MARKS,
    "scale_b": MARKS,
}


@dataclass(frozen=True, kw_only=True)
class Pen:
    """Draws on `canvas` in place.

    Parameters
    ----------
    canvas : uint8 array, shape (height, width, 3)
        RGB. Coordinates are complex x + iy, origin at the top-left corner of the top-left pixel.
    unit : float
        Pixels of a stroke that is one unit wide; all sizes follow it.
    """

    canvas: NDArray[np.uint8]
    unit: float

    @property
    def mark_radius(self) -> float:
        """How far a mark reaches from its point, in pixels."""
        return 8 * self.unit

    def lines(self, points: Sequence[complex], colour: Colour) -> None:
        """Lines from each point to the next, cut short around the points so that what lies there can be seen."""
        pieces = [self._between(start, end) for start, end in pairwise(points)]
        self._stroke([piece for piece in pieces if piece], colour, 2.0, closed=False)

    def dashes(self, start: complex, end: complex, colour: Colour, width: float = 1.6) -> None:
        """A dashed straight line, for what is drawn on beyond a point."""
        count = max(2, round(abs(end - start) / (7 * self.unit)))
        cuts = [start + (end - start) * place / count for place in range(count + 1)]
        self._stroke([cuts[place : place + 2] for place in range(0, count, 2)], colour, width, closed=False)

    def arc(self, centre: complex, start: complex, end: complex, radius: float, colour: Colour) -> None:
        """The shorter arc around `centre` from the ray to `start` to the ray to `end`."""
        first = np.angle(start - centre)
        sweep = np.angle((end - centre) * np.conj(start - centre))
        angles = first + sweep * np.linspace(0, 1, 2 + ceil(abs(sweep) * 12))
        self._stroke([list(centre + radius * np.exp(1j * angles))], colour, 2.0, closed=False)

    def mark(self, at: complex, group: Group) -> None:
        """A small open shape around the point, so that what lies under it can still be seen."""
        angles = np.radians(group.turn_deg) + 2 * np.pi * np.arange(group.corners) / group.corners
        radius = self.mark_radius * (1.1 if group.corners in (3, 4) else 0.9)
        self._stroke([list(at + radius * np.exp(1j * angles))], group.colour, 2.2, closed=True)

    def _between(self, start: complex, end: complex) -> list[complex]:
        length = abs(end - start)
        if length == 0:
            return []
        cut = (end - start) / length * min(self.mark_radius, 0.35 * length)
        return [start + cut, end - cut]

    def _stroke(self, paths: Sequence[Sequence[complex]], colour: Colour, width: float, *, closed: bool) -> None:
        fixed = [_fixed_point(path) for path in paths]
        for tint, wide in ((_DARK, width + 2.6), (colour, width)):
            thickness = max(1, round(wide * self.unit))
            cv2.polylines(self.canvas, fixed, closed, tint, thickness, cv2.LINE_AA, _DIGITS)


def _fixed_point(path: Sequence[complex]) -> NDArray[np.int32]:
    """cv2 counts from the middle of the first pixel, we from its corner."""
    points = np.asarray(path, dtype=np.complex128)
    pairs = np.column_stack([points.real, points.imag]) - 0.5
    fixed: NDArray[np.int32] = np.rint(pairs * 2**_DIGITS).astype(np.int32)
    return fixed
