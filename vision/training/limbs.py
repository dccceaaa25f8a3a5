"""Where the limbs of the parametric body point to: wide ranges, drawn against the trunk."""

from collections.abc import Sequence

import torch
from torch import Tensor

from vision.training.rng import Draws, arc, unit, vec


def limb_directions(d: Draws, sign: float) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """Where upper arm, forearm, thigh and shin point (n, 3) against the trunk: at the side, forward, raised; bent legs."""
    like, kind = d.uniform(0, 1), d.uniform(0, 1)[:, None]
    side = vec(d.normal(0, 0.25), -1.0, sign * d.uniform(-0.05, 0.5), like=like)
    forward = vec(d.uniform(0.3, 1.5), d.normal(-0.5, 0.4), sign * d.normal(0.1, 0.25), like=like)
    raised = vec(d.normal(0.3, 0.5), d.uniform(0.1, 1.2), sign * d.uniform(0.05, 0.8), like=like)
    arm = unit(torch.where(kind < 0.6, side, torch.where(kind < 0.88, forward, raised)))
    hand = vec(d.uniform(-0.1, 1.2), d.normal(-0.2, 0.6), sign * d.normal(-0.25, 0.3), like=like)
    flexed = d.normal(45, 35)
    bent = flexed - d.uniform(0, 130)
    thigh, shin = (vec(torch.deg2rad(a).sin(), -torch.deg2rad(a).cos(), sign * d.uniform(-0.15, 0.6), like=like)
                   for a in (flexed, bent))  # fmt: skip
    return arm, unit(arm * d.uniform(0, 1, 1) + hand), unit(thigh), unit(shin)


def turn_limbs(d: Draws, bones: Sequence[str], joints: Tensor, out: Tensor) -> None:
    """On two thirds of the bodies: limbs turned to drawn directions, in place of the turns (n, bones, 3, 3) in `out`.

    `joints` (n, bones, 3) are the places of the unturned bones' heads.
    """
    at, chosen = bones.index, d.chance(0.67)[:, None, None]
    for side, sign in (("L", -1.0), ("R", 1.0)):
        arm, fore, thigh, shin = limb_directions(d, sign)
        for upper, lower, end, to, further in (
            ("upperarm01", "lowerarm01", "wrist", arm, fore), ("upperleg01", "lowerleg01", "foot", thigh, shin),
        ):  # fmt: skip
            a, b, c = (joints[:, at(f"{bone}.{side}")] for bone in (upper, lower, end))
            first = arc(b - a, to)
            second = arc((first @ (c - b)[..., None])[..., 0], further)
            for bone, own in ((upper, first), (lower, first.transpose(1, 2) @ second @ first)):
                i = at(f"{bone}.{side}")
                out[:, i] = torch.where(chosen, own, out[:, i])
