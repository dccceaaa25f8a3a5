"""Where faces are in a photo, at any turn in the picture: many turned copies are asked, and each answer is a vote.

The face finder of the mediapipe wheel answers for upright faces. So the whole photo, with air around it that keeps the
corners in the picture, and four overlapping parts of it are each turned to twelve directions, plain and mirrored: 120
questions, about half a second. The air matters by itself: a face that is cut off by the photo's edge is found in it.

Measured on 2026-11-25: one adult's portrait (skimage's astronaut) laid on a doll photo 1280 pixels wide, at 18 turns
each and four sizes. Its face, from 65 pixels wide upwards, was found at every turn by 3 to 40 votes. On the 26 shipped
doll photos nothing that is no face had more than 2 votes, and the one adult's face, half outside the photo, had 15.
Blurred faces are often missed: of 30 grey portraits of 25 pixels (skimage's), enlarged and turned, 11 were found. Faces
in full profile were not tried. So a person must look, and what is proposed is never taken for all there is.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, hypot
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from vision.covering.areas import CoverArea, CoverKind, CoverShape
from vision.detectors.turned_copies import Square, Turn, back, cut, turned
from vision.mediapipe_models import Corners

BY = "face finder"
LOOK_SIZE = 640
#: Fewer votes are no face: see above.
LEAST_VOTES = 3
TURNS = tuple(Turn(deg=deg, mirrored=mirrored) for mirrored in (False, True) for deg in range(0, 360, 30))
#: Four parts so many times the photo's longer side wide, about these places (shares of width and height).
_PART, _PLACES = 0.62, ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75))
#: Votes whose middles lie this near, in face widths, are for one face.
_ONE_FACE = 0.5
#: The finder's box goes from the eyebrows to the chin; what covers it goes from above the hair line to under the chin.
_WIDE, _HIGH, _UP = 1.6, 1.9, 0.12
#: Where the votes disagree about which way up the face is (length of their mean direction), a circle is proposed.
_LEAST_SAME_WAY_UP = 0.7


class FaceFinder(Protocol):
    """What finds faces that stand upright in a picture; `vision.mediapipe_models` has one."""

    def face_places(self, pixels: NDArray[np.uint8]) -> list[Corners]:
        """Top-left and bottom-right corner of each face, pixels of that picture."""
        ...


@dataclass(frozen=True, kw_only=True)
class FoundFace:
    """One face, all votes together.

    Parameters
    ----------
    x, y, size : float
        Middle and width of the finder's box, pixels of the photo.
    turn_deg : float
        By how much it is turned clockwise from upright, -180 to 180.
    steadiness : float
        0 to 1: how far the votes agree about the turn.
    votes : int
        How many looks found it.
    """

    x: float
    y: float
    size: float
    turn_deg: float
    steadiness: float
    votes: int

    def area(self, why: str) -> CoverArea:
        """What hides this face, hair line and chin included."""
        turn = np.radians(self.turn_deg)
        steady = self.steadiness >= _LEAST_SAME_WAY_UP
        up = _UP * self.size if steady else 0.0
        return CoverArea(
            kind=CoverKind.FACE,
            shape=CoverShape.ELLIPSE,
            x=self.x + up * float(np.sin(turn)),
            y=self.y - up * float(np.cos(turn)),
            width=(_WIDE if steady else _HIGH) * self.size,
            height=_HIGH * self.size,
            turn_deg=self.turn_deg if steady else 0.0,
            why=why,
            by=BY,
        )


@dataclass(frozen=True, kw_only=True)
class _Vote:
    x: float
    y: float
    size: float
    turn_deg: float


def find_faces(finder: FaceFinder, pixels: NDArray[np.uint8]) -> tuple[FoundFace, ...]:
    """All faces that enough looks agree about, the largest first.

    Parameters
    ----------
    finder : FaceFinder
    pixels : uint8 array, shape (height, width, 3)
        Red, green, blue.

    Raises
    ------
    ModelUnavailable
        Where the finder cannot be loaded on this machine.
    """
    votes = [vote for square in _looks(pixels) for vote in _votes(finder, pixels, square)]
    faces = [_together(group) for group in _grouped(votes) if len(group) >= LEAST_VOTES]
    return tuple(sorted(faces, key=lambda face: -face.size))


def _looks(pixels: NDArray[np.uint8]) -> list[Square]:
    height, width = pixels.shape[:2]
    around = hypot(width, height) + 2
    part = ceil(_PART * max(width, height))
    whole = Square(left=(width - around) / 2, top=(height - around) / 2, side=around)
    return [whole, *(Square(left=width * x - part / 2, top=height * y - part / 2, side=part) for x, y in _PLACES)]


def _votes(finder: FaceFinder, pixels: NDArray[np.uint8], square: Square) -> Iterator[_Vote]:
    picture = cut(pixels, square, LOOK_SIZE)
    for turn in TURNS:
        for corners in finder.face_places(turned(picture, turn)):
            middle = back(corners.mean(axis=0, keepdims=True), turn, square, LOOK_SIZE)[0]
            yield _Vote(
                x=float(middle[0]),
                y=float(middle[1]),
                size=float(np.ptp(corners, axis=0).max()) * square.side / LOOK_SIZE,
                # A copy turned by +30° stands upright where the face itself is turned by -30°; mirrored the other way.
                turn_deg=turn.deg if turn.mirrored else -turn.deg,
            )


def _grouped(votes: Sequence[_Vote]) -> list[list[_Vote]]:
    """Votes for one and the same face, the larger ones first."""
    groups: list[list[_Vote]] = []
    for vote in sorted(votes, key=lambda one: -one.size):
        near = (group for group in groups if _apart(vote, group) < _ONE_FACE)
        group = next(near, None)
        if group is None:
            groups.append([vote])
        else:
            group.append(vote)
    return groups


def _apart(vote: _Vote, group: Sequence[_Vote]) -> float:
    x, y, size = (float(np.mean([getattr(one, name) for one in group])) for name in ("x", "y", "size"))
    return hypot(vote.x - x, vote.y - y) / size


def _together(group: Sequence[_Vote]) -> FoundFace:
    x, y, size = (float(np.median([getattr(one, name) for one in group])) for name in ("x", "y", "size"))
    direction = complex(np.exp(1j * np.radians([one.turn_deg for one in group])).mean())
    turn = float(np.degrees(np.angle(direction)))
    return FoundFace(x=x, y=y, size=size, turn_deg=turn, steadiness=abs(direction), votes=len(group))
