"""What every family tells about its dolls, whatever they are made of.

Head axes: x forward, y up, z to the doll's right; the origin lies between the ears, the nose tip at x = 1. The world of
a scene is its head's frame.
"""

from dataclasses import dataclass

import torch
from torch import Tensor

from vision.training.rng import vec

#: Order of the landmarks everywhere in the training.
LANDMARKS = (
    "mouth_corner", "upper_lip_edge", "lower_lip_edge", "nose_tip", "chin", "ear", "shoulder", "hip",
    "breast_at_nose", "breast_at_chin", "areola_above", "areola_below",
)  # fmt: skip
DOLL_LANDMARKS = LANDMARKS[:8]
CORNER, UPPER, LOWER, NOSE, CHIN, EAR, SHOULDER, HIP = range(8)


@dataclass(frozen=True, kw_only=True)
class Anatomy:
    """Places of a batch of dolls in their head frames.

    Parameters
    ----------
    right, left : (n, 8, 3)
        `DOLL_LANDMARKS` of each side.
    trunk : (n, 3, 3)
        Columns: the trunk's forward, up and right directions.
    """

    right: Tensor
    left: Tensor
    trunk: Tensor

    def gape_deg(self) -> Tensor:
        """At the corner between the free lip edges in the sagittal plane, 0 closed, up to 180."""
        corner, upper, lower = (self.right[:, i, :2] for i in (CORNER, UPPER, LOWER))
        a, b = upper - corner, lower - corner
        cross = b[:, 0] * a[:, 1] - b[:, 1] * a[:, 0]
        return torch.rad2deg(torch.atan2(cross.abs(), (a * b).sum(-1)))

    def lip_depths(self) -> Tensor:
        """(n, 2): how far the upper and lower lip edge lie in front of the corner."""
        return self.right[:, [UPPER, LOWER], 0] - self.right[:, CORNER, 0, None]

    def mouth_middle(self) -> Tensor:
        """(n, 3) between the lip edges."""
        return (self.right[:, UPPER] + self.right[:, LOWER]) / 2


def mirrored(points: Tensor) -> Tensor:
    """The same places on the other side."""
    return points * torch.tensor([1.0, 1.0, -1.0], device=points.device)


def direction(angle_deg: Tensor) -> Tensor:
    """(n, 3) in the sagittal plane, degrees above forward."""
    a = torch.deg2rad(angle_deg)
    return vec(a.cos(), a.sin(), 0.0, like=a)
