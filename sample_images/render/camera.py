"""A pinhole camera with a round lens."""

from dataclasses import dataclass
from math import radians, tan

import numpy as np


def unit(v) -> np.ndarray:
    """The vector at length 1."""
    v = np.asarray(v, dtype=float)
    return v / np.linalg.norm(v)


def turn_about(axis, deg: float) -> np.ndarray:
    """Rotation matrix, right-handed, degrees about an axis."""
    x, y, z = unit(axis)
    a = radians(deg)
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.eye(3) + np.sin(a) * k + (1 - np.cos(a)) * (k @ k)


@dataclass(frozen=True, kw_only=True)
class Camera:
    """Metres and degrees; `roll_deg` turns the picture's content counter-clockwise.

    Parameters
    ----------
    eye, target : arrays of shape (3,)
        Where the camera stands and the point in the middle of the picture.
    up_hint : array of shape (3,)
        The direction that points up in the picture at roll 0.
    fov_deg : float
        Horizontal field of view.
    lens : float
        Radius of the aperture in metres; 0 for all sharp.
    focus_at : array of shape (3,) or None
        The point in focus; the target where None.
    """

    eye: np.ndarray
    target: np.ndarray
    up_hint: np.ndarray
    fov_deg: float
    width: int
    height: int
    roll_deg: float = 0.0
    lens: float = 0.0
    focus_at: np.ndarray | None = None

    @property
    def forward(self) -> np.ndarray:
        return unit(np.asarray(self.target) - np.asarray(self.eye))

    @property
    def right(self) -> np.ndarray:
        level = unit(np.cross(self.forward, self.up_hint))
        return turn_about(self.forward, self.roll_deg) @ level

    @property
    def up(self) -> np.ndarray:
        return np.cross(self.right, self.forward)

    @property
    def tan_half(self) -> float:
        return tan(radians(self.fov_deg) / 2)

    @property
    def focus(self) -> float:
        at = self.target if self.focus_at is None else self.focus_at
        return float(np.dot(np.asarray(at) - np.asarray(self.eye), self.forward))

    def project(self, points) -> np.ndarray:
        """Pixels (n, 2) of points (n, 3)."""
        rel = np.atleast_2d(np.asarray(points, dtype=float)) - np.asarray(self.eye)
        z = rel @ self.forward
        x = (rel @ self.right) / (z * self.tan_half)
        y = (rel @ self.up) / (z * self.tan_half)
        return np.stack([(x + 1) / 2 * self.width, self.height / 2 - y * self.width / 2], axis=1)

    def mm_per_pixel(self, point) -> float:
        """Millimetres that one pixel covers in the plane through the point, square to the line of sight."""
        z = float(np.dot(np.asarray(point) - np.asarray(self.eye), self.forward))
        return 2 * z * self.tan_half / self.width * 1000
