"""A head of a few points in three dimensions, turned by scipy and projected: a way to measures that is not the program's."""

import math

import numpy as np
from scipy.spatial.transform import Rotation

from vision.landmarks import HeadYaw, LandmarkSet, Point

FACE_PX = 300.0


def seen_head(
    *,
    gape_up: float,
    gape_down: float,
    arms: tuple[float, float] = (80.0, 90.0),
    psi: float = 90.0,
    k: float = 0.8,
    w: float = 0.19,
    roll: float = 0.0,
) -> dict[str, complex]:
    """Points in pixels of a head of face size 300, seen at ψ.

    The head's frame: x forward along ear → nose tip, y down, z towards the side that the camera is on. At ψ = 90° the
    camera looks along −z; a smaller ψ turns the face towards it.
    """
    up, down = math.radians(gape_up), math.radians(gape_down)
    solid = {
        "mouth_corner": (0, 0, w * FACE_PX),
        "upper_lip_edge": (arms[0] * math.cos(up), -arms[0] * math.sin(up), 0),
        "lower_lip_edge": (arms[1] * math.cos(down), arms[1] * math.sin(down), 0),
        "nose_tip": (0.3 * FACE_PX, -0.3 * FACE_PX, 0),
        "ear": (-0.7 * FACE_PX, -0.3 * FACE_PX, k * FACE_PX),
    }
    turned = Rotation.from_euler("y", psi - 90, degrees=True).apply(np.array(list(solid.values()), dtype=float))
    turned = Rotation.from_euler("z", roll, degrees=True).apply(turned)
    return {name: complex(1000 + x, 1000 + y) for name, (x, y, _) in zip(solid, turned, strict=True)}


def as_set(
    points: dict[str, complex], *, sigma: float | None = None, yaw: tuple[float, float] | None = None
) -> LandmarkSet:
    head_yaw = None if yaw is None else HeadYaw(deg=yaw[0], sigma_deg=yaw[1])
    placed = {name: Point(x=at.real, y=at.imag, sigma=sigma) for name, at in points.items()}
    return LandmarkSet(points=placed, head_yaw=head_yaw)
