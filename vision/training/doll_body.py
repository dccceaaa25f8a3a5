"""Trunk and limbs of a signed-distance doll, posed against its head."""

import torch
from torch import Tensor

from vision.training.rng import Draws, arc, rotation, unit, vec
from vision.training.solids import BODY, CLOTH, CUFF, SKIN, Solids

#: Where the neck turns, in head axes.
NECK_PIVOT = (-0.2, -0.55, 0.0)
#: Acromion and trochanter as the parametric body has them, so that every family means the same places: direction from
#: the joint with the limb at rest, the limb's direction then, and the share in which the place turns with the limb.
_ACROMION = ((0.17, 0.69, 0.71), (0.0, -0.75, 0.66), 0.87)
_TROCHANTER = ((-0.22, -0.38, 0.90), (0.05, -1.0, 0.05), 0.53)


def trunk_turn(d: Draws) -> Tensor:
    """(n, 3, 3): columns are the trunk's forward, up and right directions in head axes."""
    flexion = d.normal(0, 14)
    turn = torch.where(d.chance(0.22), d.normal(0, 38, cut=1.8), d.normal(0, 9))
    tilt = d.normal(0, 8)
    return rotation("z", flexion) @ rotation("y", turn) @ rotation("x", tilt)


def _place(joint: Tensor, radius: Tensor, limb: Tensor, sign: float, mark: tuple) -> Tensor:
    """Where that mark lies on the joint's ball, its skin drawn along by the limb."""
    rest, limb_rest = (vec(a, b, sign * c, like=radius) for a, b, c in mark[:2])
    turned = (arc(limb_rest, limb) @ rest[..., None])[..., 0]
    return joint + radius[:, None] * ((1 - mark[2]) * rest + mark[2] * turned)


def body(s: Solids, d: Draws, *, toy: bool) -> tuple[Tensor, Tensor, Tensor]:
    """Adds a body in trunk axes; gives shoulders and hips, right then left (n, 4, 3), and the trunk's turn.

    The places are in head axes; the solids stand in trunk axes with the neck's pivot as origin.
    """
    turn, like = trunk_turn(d), d.uniform(0, 1)
    length = d.uniform(2.2, 3.2) if not toy else d.uniform(1.5, 2.6)
    half, hip_half = d.uniform(0.7, 1.15), d.uniform(0.55, 0.9)
    curl = torch.deg2rad(torch.where(d.chance(0.25), d.uniform(-12, 40), d.normal(8, 12)))
    down = vec(curl.sin(), -curl.cos(), 0.0, like=like)
    neck = vec(d.uniform(-0.15, 0.0), -d.uniform(0.2, 0.5), 0.0, like=like)
    pelvis = neck + down * length[:, None]
    waist = (neck + pelvis) / 2 + vec(d.uniform(0, 0.2), 0.0, 0.0, like=like)
    pivot = torch.tensor(NECK_PIVOT, device=d.device).expand(d.n, 3)
    s.cone(BODY, SKIN, vec(0.1, 0.35, 0.0, like=like), neck, d.uniform(0.3, 0.42), d.uniform(0.28, 0.4), blend=0.1)
    deep = d.uniform(0.45, 0.68)
    s.ellipsoid(
        BODY, CLOTH, neck + down * (length * 0.28)[:, None], vec(deep, length * 0.4, half * 0.85, like=like), angle=curl
    )
    s.ellipsoid(
        BODY,
        CLOTH,
        waist + down * 0.3,
        vec(deep * d.uniform(0.95, 1.3), length * 0.42, hip_half * 1.05, like=like),
        angle=curl,
        blend=0.2,
    )
    s.ellipsoid(BODY, CLOTH, pelvis, vec(deep * 1.05, 0.6, hip_half, like=like), angle=curl, blend=0.2)
    sleeve, leg = d.chance(0.75), d.chance(0.7)
    sleeve_mat, leg_mat = torch.where(sleeve, CLOTH, SKIN).float(), torch.where(leg, CLOTH, SKIN).float()
    joints = []
    shoulder_r = d.uniform(0.24, 0.34)
    under = 1 - torch.where(
        d.chance(0.5), 0.0, d.uniform(0.0, 0.4)
    )  # the marks lie on the skin, under cloth and padding
    for sign in (1.0, -1.0):
        shoulder = neck + vec(0.0, -d.uniform(0.0, 0.15) - shoulder_r * 0.5, sign * (half - shoulder_r), like=like)
        s.ball(BODY, CLOTH, shoulder, shoulder_r, blend=0.15)
        arm = unit(vec(d.normal(0.35, 0.5), d.normal(-0.8, 0.4), sign * d.uniform(-0.15, 0.5), like=like))
        joints.append(_place(shoulder, shoulder_r * under, arm, sign, _ACROMION))
        elbow = shoulder + arm * d.uniform(0.8, 1.2)[:, None]
        fore = unit(vec(d.normal(0.6, 0.5), d.normal(0.0, 0.8), d.normal(-0.2 * sign, 0.5), like=like))
        hand = elbow + fore * d.uniform(0.7, 1.1)[:, None]
        s.cone(BODY, sleeve_mat, shoulder, elbow, d.uniform(0.2, 0.28), d.uniform(0.17, 0.23), blend=0.1)
        s.cone(BODY, sleeve_mat, elbow, elbow + (hand - elbow) * 0.8, d.uniform(0.17, 0.23), 0.16, blend=0.03)
        s.cone(
            BODY, CUFF, elbow + (hand - elbow) * 0.72, elbow + (hand - elbow) * 0.8, 0.18, 0.18, blend=0.01, on=sleeve
        )
        s.ball(BODY, SKIN, hand, d.uniform(0.17, 0.23), blend=0.05)
        s.cone(BODY, SKIN, hand, hand + unit(fore + 0.3 * arm) * 0.24, 0.12, 0.07, blend=0.04)
    hips = []
    for sign in (1.0, -1.0):
        hip_r = d.uniform(0.34, 0.46)
        ball = pelvis + down * 0.1 + vec(0.0, 0.0, sign * (hip_half - hip_r), like=like)
        thigh = unit(
            down * d.uniform(0.2, 1.0)[:, None] + vec(d.uniform(0.0, 1.0), 0.0, sign * d.uniform(-0.1, 0.5), like=like)
        )
        hips.append(_place(ball, hip_r * under, thigh, sign, _TROCHANTER))
        knee = ball + thigh * d.uniform(1.0, 1.5)[:, None]
        shin = unit(down + vec(d.uniform(-0.9, 0.3), 0.0, d.normal(0, 0.3), like=like))
        foot = knee + shin * d.uniform(0.8, 1.3)[:, None]
        s.ball(BODY, CLOTH, ball, hip_r, blend=0.15)
        s.cone(BODY, leg_mat, ball, knee, hip_r * 0.92, d.uniform(0.22, 0.32), blend=0.12)
        s.cone(BODY, leg_mat, knee, foot, d.uniform(0.22, 0.3), d.uniform(0.15, 0.22), blend=0.06)
        s.cone(BODY, SKIN, foot, foot + vec(0.3, -0.1, 0.0, like=like), 0.17, 0.11, blend=0.04)
    places = torch.stack([*joints, *hips], dim=1)
    return (turn[:, None] @ places[..., None])[..., 0] + pivot[:, None], turn, pivot
