"""The two networks at work on one photo: find the head, turn it upright, read it, look again closer.

Two turns of the whole picture (or of the box that a person drew), one of them mirrored, go through the finder; then the
reader looks at the upright head and, closer, at the mouth, and the finder at the upright body, some of them at copies
that are shifted, turned, scaled and mirrored a little. Eight looks in four batches: on 500 rendered dolls more copies of
a kind (twelve looks in all) changed no error by more than a tenth of it. Where the head was not found so, five parts of
the picture are looked at by themselves, and the surest of them is read in the same way.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from threading import Lock

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.detect import Box
from vision.detectors.profile_answers import EAR, HIP, SHOULDER, Reading, agreement, reading, together, turn_of
from vision.detectors.profile_crops import Floats, Frame, Levels, Pixels, cut, network_input
from vision.errors import ModelUnavailable
from vision.said import Said

MODELS = Path(__file__).parent.parent / "models"

#: Sides of the crops in face sizes.
_BODY_SIDE, _HEAD_SIDE, _MOUTH_SIDE = 5.2, 3.0, 2.2
#: Copies of each.
_BODY_LOOKS, _HEAD_LOOKS, _MOUTH_LOOKS = 2, 1, 3
#: (turn in degrees, mirrored) of the looks at the whole picture.
_TURNS = ((0.0, False), (270.0, True))
#: Middles of the parts, in shares of the side from the middle of the picture, and their side.
_PARTS, _PART_SIDE = ((0.0, 0.0), (-0.2, -0.2), (0.2, -0.2), (-0.2, 0.2), (0.2, 0.2)), 0.65
#: Of the parts the one is taken in which the head's direction is surest, where so much disagreement of its two looks, in
#: face sizes, counts as one degree.
_APART_PER_DEG = 0.05
#: (turn in degrees, factor of the side, shift in shares of the side to the right and down, mirrored) of the copies.
_COPIES = (
    (0.0, 1.0, 0.0, 0.0, False), (5.0, 1.08, 0.03, -0.02, True), (-6.0, 0.92, -0.03, 0.02, False),
    (-3.0, 1.15, 0.02, 0.04, True), (8.0, 0.97, -0.02, -0.04, False), (2.0, 0.88, 0.0, 0.0, True),
)  # fmt: skip


class Network:
    """One ONNX file, loaded at first use."""

    def __init__(self, path: Path) -> None:
        self._path, self._lock = path, Lock()

    @cached_property
    def _net(self) -> cv2.dnn.Net:
        try:
            return cv2.dnn.readNetFromONNX(str(self._path))
        except cv2.error as error:
            raise ModelUnavailable(
                Said(
                    "The side-view model cannot be used: its file {file} is missing or damaged; place the points by hand, "
                    "or install this program again.",
                    file=self._path.name,
                )
            ) from error

    def __call__(self, levels: Levels, frames: Sequence[Frame]) -> list[Reading]:
        """What the network says of each frame, in pixels of the photo."""
        with self._lock:
            self._net.setInput(network_input([cut(levels, frame) for frame in frames]))
            rows: NDArray[np.float32] = self._net.forward().astype(np.float32, copy=True)
        return [reading(row, frame) for row, frame in zip(rows, frames, strict=True)]


@dataclass(frozen=True, kw_only=True)
class Search:
    """What was read of the head, all copies together; and what the first looks and the last say of it by themselves.

    Parameters
    ----------
    all : Reading
        Every copy of the upright crops, each point from those that see it best; the gape from head and mouth alone, the
        yaw from the whole picture too. How far the looks at the whole body put shoulder and hip apart counts in their spread.
    whole, mouth : Reading
        The whole picture, or the part of it that was taken; the closest crop.
    apart : float
        How far the looks at the whole picture put the face apart, in face sizes.
    """

    all: Reading
    whole: Reading
    mouth: Reading
    apart: float


def _copies(centre: Floats, side: float, turn: float, n: int) -> list[Frame]:
    return [
        Frame(
            x=float(centre[0]) + dx * side, y=float(centre[1]) + dy * side, side=side * factor, turn_deg=turn + more,
            mirrored=mirrored,
        )
        for more, factor, dx, dy, mirrored in _COPIES[:n]
    ]  # fmt: skip


def _face_centre(found: Reading) -> Floats:
    mouth = (found.points[1] + found.points[2]) / 2
    centre: Floats = 0.4 * mouth + 0.3 * found.points[3] + 0.3 * found.points[5]
    return centre


def _mouth_centre(found: Reading) -> Floats:
    centre: Floats = 0.55 * (found.points[1] + found.points[2]) / 2 + 0.45 * _face_centre(found)
    return centre


def _body_centre(ear: Floats, hip: Floats, face: float) -> Floats:
    offset = 0.45 * (hip - ear)
    centre: Floats = ear + offset * min(1.0, 3 * face / max(float(np.hypot(*offset)), 1e-6))
    return centre


class Searcher:
    """Both networks."""

    def __init__(self, folder: Path = MODELS) -> None:
        self._finder = Network(folder / "profile_finder.onnx")
        self._reader = Network(folder / "profile_reader.onnx")

    def search(self, pixels: Pixels, box: Box | None) -> Search:
        """Find and read the head in the box, or in the whole photo."""
        levels, middle, side = Levels(pixels), *_looked_at(pixels, box)
        return self._read(levels, self._finder(levels, _turned(middle, side)))

    def search_parts(self, pixels: Pixels, box: Box | None) -> Search:
        """The same in the part of the box, or of the photo, in which the finder is surest: for a head that is small in it."""
        levels, middle, side = Levels(pixels), *_looked_at(pixels, box)
        parts = [_turned(middle + side * np.array(part), _PART_SIDE * side) for part in _PARTS]
        looks = self._finder(levels, [frame for part in parts for frame in part])
        found = [looks[k : k + len(_TURNS)] for k in range(0, len(looks), len(_TURNS))]
        return self._read(levels, min(found, key=_unsureness))

    def _read(self, levels: Levels, looks: Sequence[Reading]) -> Search:
        """What comes closer to the head that these looks found."""
        whole = together(looks)
        head = self._reader(
            levels, _copies(_face_centre(whole), _HEAD_SIDE * whole.face, turn_of(whole.up), _HEAD_LOOKS)
        )
        found = together(head)
        turn = turn_of(found.up)
        mouth = self._reader(levels, _copies(_mouth_centre(found), _MOUTH_SIDE * found.face, turn, _MOUTH_LOOKS))
        centre = _body_centre(found.points[EAR], whole.points[HIP], found.face)
        body = self._finder(levels, _copies(centre, _BODY_SIDE * found.face, turn, _BODY_LOOKS))
        return combined(looks, head, mouth, body)


def _looked_at(pixels: Pixels, box: Box | None) -> tuple[Floats, float]:
    """Middle and side of the square to look at, pixels of the photo."""
    height, width = pixels.shape[:2]
    if box is None:
        return np.array([width / 2, height / 2]), float(max(width, height))
    return np.array([box.x + box.width / 2, box.y + box.height / 2]), 1.15 * max(box.width, box.height)


def _turned(middle: Floats, side: float) -> list[Frame]:
    x, y = (float(v) for v in middle)
    return [Frame(x=x, y=y, side=side, turn_deg=turn, mirrored=mirrored) for turn, mirrored in _TURNS]


def _unsureness(looks: Sequence[Reading]) -> float:
    return float(np.mean([look.yaw_b for look in looks])) + agreement(looks) / _APART_PER_DEG


def combined(
    looks: Sequence[Reading], head: Sequence[Reading], mouth: Sequence[Reading], body: Sequence[Reading]
) -> Search:
    """All looks at one head together, as `Search` says."""
    whole, close = together(looks), together([*head, *mouth])
    everything, far = together([*body, *head, *mouth]), together([*looks, *body, *head, *mouth])
    spread = everything.spread.copy()
    spread[[SHOULDER, HIP]] = together([*looks, *body]).spread[[SHOULDER, HIP]]
    read = replace(
        everything,
        spread=spread,
        gape_deg=close.gape_deg, gape_b=close.gape_b, gape_spread=close.gape_spread,
        yaw_deg=far.yaw_deg, yaw_b=far.yaw_b, yaw_spread=far.yaw_spread,
    )  # fmt: skip
    return Search(all=read, whole=whole, mouth=together(mouth), apart=agreement(looks))
