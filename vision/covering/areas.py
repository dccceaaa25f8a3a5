"""Areas of a photo that must not be shown: what they are, and the outline that each has.

Frame: pixels of the upright photo, x right, y down, origin at the top-left corner of the top-left pixel.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from vision.errors import InvalidCover

#: An area has at least this width and height, in pixels: less hides nothing, and a hand draws it by mistake.
SMALLEST_SIDE_PX = 4.0
#: Further from the photo than any photo is wide, in pixels.
LARGEST_PX = 100_000.0
_ELLIPSE_CORNERS = 96


class CoverKind(StrEnum):
    """What an area hides."""

    FACE = "face"
    WRISTBAND = "wristband"
    TATTOO = "tattoo"
    NAME = "name"
    SCREEN = "screen"
    OTHER = "other"


class CoverShape(StrEnum):
    """Both are given by their middle, width, height and turn."""

    ELLIPSE = "ellipse"
    RECTANGLE = "rectangle"


@dataclass(frozen=True, kw_only=True)
class CoverArea:
    """One area to cover; it may lie partly or wholly outside the photo.

    Parameters
    ----------
    kind : CoverKind
    shape : CoverShape
    x, y : float
        Its middle, in pixels of the photo that is covered.
    width, height : float
        Before the turn, in pixels, at least `SMALLEST_SIDE_PX`.
    turn_deg : float
        Clockwise on the screen, -180 to 180.
    why : str
        One sentence for the person who decides; empty for an area that a person drew.
    by : str
        "educator", or the name of what proposed it.

    Raises
    ------
    InvalidCover
        For a number outside its range.
    """

    kind: CoverKind
    shape: CoverShape
    x: float
    y: float
    width: float
    height: float
    turn_deg: float = 0.0
    why: str = ""
    by: str = "educator"

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("x", self.x, -LARGEST_PX, LARGEST_PX),
            ("y", self.y, -LARGEST_PX, LARGEST_PX),
            ("width", self.width, SMALLEST_SIDE_PX, LARGEST_PX),
            ("height", self.height, SMALLEST_SIDE_PX, LARGEST_PX),
            ("turn", self.turn_deg, -180.0, 180.0),
        ):
            if not (isfinite(value) and low <= value <= high):
                raise InvalidCover(f"the {name} of an area to cover must lie in {low:g} to {high:g}, got {value}")

    def outline(self) -> NDArray[np.float64]:
        """Corners of a polygon that holds the whole area, shape (n, 2): a rectangle's own, an ellipse's a little outside.

        Examples
        --------
        >>> area = CoverArea(kind=CoverKind.NAME, shape=CoverShape.RECTANGLE, x=50, y=40, width=20, height=10)
        >>> area.outline().tolist()
        [[40.0, 35.0], [60.0, 35.0], [60.0, 45.0], [40.0, 45.0]]
        """
        half = np.array([self.width, self.height]) / 2
        corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
        if self.shape == CoverShape.ELLIPSE:
            angles = np.arange(_ELLIPSE_CORNERS) * 2 * np.pi / _ELLIPSE_CORNERS
            # The regular polygon around the unit circle, stretched with it, still lies around the ellipse.
            corners = np.column_stack([np.cos(angles), np.sin(angles)]) / np.cos(np.pi / _ELLIPSE_CORNERS)
        turn = np.radians(self.turn_deg)
        turning = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        placed: NDArray[np.float64] = (corners * half) @ turning + [self.x, self.y]
        return placed
