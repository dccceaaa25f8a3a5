"""The two networks at work on one photo: find the head, turn it upright, read it, look again closer.

Four quarter turns of the whole picture (or of the box that a person drew) go through the finder; then the reader looks
at the upright head and, closer, at the mouth, and the finder at the upright body, each at several copies that are
shifted, turned, scaled and mirrored a little. Twelve looks in four batches.
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
from vision.detectors.profile_answers import EAR, HIP, Reading, agreement, reading, together, turn_of
from vision.detectors.profile_crops import Floats, Frame, Levels, Pixels, cut, network_input
from vision.errors import ModelUnavailable
from vision.said import Said

MODELS = Path(__file__).parent.parent / "models"

#: Sides of the crops in face sizes.
_BODY_SIDE, _HEAD_SIDE, _MOUTH_SIDE = 5.2, 3.0, 2.2
#: Copies of each.
_BODY_LOOKS, _HEAD_LOOKS, _MOUTH_LOOKS = 2, 2, 4
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
    """What was read of the head, all copies together; and what the first look and the last say of it by themselves.

    Parameters
    ----------
    all : Reading
        Every copy of the upright crops, each point from those that see it best; the gape from head and mouth alone, the
        yaw from the whole picture too.
    whole, mouth : Reading
        The whole picture at four quarter turns; the closest crop.
    apart : float
        How far the four quarter turns put the face apart, in face sizes.
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
        height, width = pixels.shape[:2]
        levels = Levels(pixels)
        if box is None:
            x, y, side = width / 2, height / 2, float(max(width, height))
        else:
            x, y, side = box.x + box.width / 2, box.y + box.height / 2, 1.15 * max(box.width, box.height)
        turns = [Frame(x=x, y=y, side=side, turn_deg=t, mirrored=t > 100) for t in (0.0, 90.0, 180.0, 270.0)]
        quarters = self._finder(levels, turns)
        whole = together(quarters)
        head = self._reader(
            levels, _copies(_face_centre(whole), _HEAD_SIDE * whole.face, turn_of(whole.up), _HEAD_LOOKS)
        )
        found = together(head)
        turn = turn_of(found.up)
        mouth = self._reader(levels, _copies(_mouth_centre(found), _MOUTH_SIDE * found.face, turn, _MOUTH_LOOKS))
        centre = _body_centre(found.points[EAR], whole.points[HIP], found.face)
        body = self._finder(levels, _copies(centre, _BODY_SIDE * found.face, turn, _BODY_LOOKS))
        close = together([*head, *mouth])
        far = together([*quarters, *body, *head, *mouth])
        everything = replace(
            together([*body, *head, *mouth]),
            gape_deg=close.gape_deg, gape_b=close.gape_b, gape_spread=close.gape_spread,
            yaw_deg=far.yaw_deg, yaw_b=far.yaw_b, yaw_spread=far.yaw_spread,
        )  # fmt: skip
        return Search(all=everything, whole=whole, mouth=together(mouth), apart=agreement(quarters))
