"""Models that answer what a test tells them, as one that sees a head and a body of known place would."""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import cos, radians, sin

import numpy as np
from numpy.typing import NDArray

#: Mesh index -> place on a head 1.25 face sizes broad: x to the subject's left, y down, z backwards, in face sizes.
HEAD = {
    4: (0.0, 0.0, -0.75),
    13: (0.0, 0.3, -0.6),
    14: (0.0, 0.35, -0.6),
    199: (0.0, 0.6, -0.55),
    61: (-0.22, 0.32, -0.5),
    291: (0.22, 0.32, -0.5),
    33: (-0.4, -0.35, -0.4),
    263: (0.4, -0.35, -0.4),
    234: (-0.625, -0.1, 0.0),
    454: (0.625, -0.1, 0.0),
    10: (0.0, -0.9, -0.4),
    152: (0.0, 0.65, -0.45),
}
_TWINS = {61: 291, 33: 263, 234: 454, 291: 61, 263: 33, 454: 234}


def head_mesh(*, yaw_deg: float, x: float, y: float, face_px: float) -> NDArray[np.float64]:
    """A mesh seen by a camera far away; positive yaw shows more of the subject's right side."""
    mesh = np.full((468, 3), (0.0, 0.0, -0.4))
    for index, place in HEAD.items():
        mesh[index] = place
    turn = radians(yaw_deg)
    across = mesh[:, 0] * cos(turn) - mesh[:, 2] * sin(turn)
    depth = mesh[:, 0] * sin(turn) + mesh[:, 2] * cos(turn)
    return np.column_stack([across, mesh[:, 1], depth]) * face_px + [x, y, 0.0]


def mirrored_mesh(mesh: NDArray[np.float64], width: float) -> NDArray[np.float64]:
    """What a model says of the mirrored picture: places mirrored, and the subject's left called right."""
    flipped = mesh * [-1.0, 1.0, 1.0] + [width, 0.0, 0.0]
    result = flipped.copy()
    for index, twin in _TWINS.items():
        result[index] = flipped[twin]
    return result


@dataclass
class ScriptedModels:
    """Answers from queues of functions of the picture's width, and says what was asked."""

    places: list[NDArray[np.float64]] = field(default_factory=list)
    face_answers: list[Callable[[int], list[NDArray[np.float64]]]] = field(default_factory=list)
    pose_answers: list[Callable[[int], NDArray[np.float64] | None]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def face_places(self, pixels: NDArray[np.uint8]) -> list[NDArray[np.float64]]:  # noqa: ARG002
        """The places of faces, whatever is asked."""
        return self.places

    def faces(self, pixels: NDArray[np.uint8]) -> list[NDArray[np.float64]]:
        """The next answer about faces; none when the queue is empty."""
        self.asked.append("faces")
        return self.face_answers.pop(0)(pixels.shape[1]) if self.face_answers else []

    def pose(self, pixels: NDArray[np.uint8]) -> NDArray[np.float64] | None:
        """The next answer about the body; none when the queue is empty."""
        self.asked.append("pose")
        return self.pose_answers.pop(0)(pixels.shape[1]) if self.pose_answers else None
