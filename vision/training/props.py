"""What else is in a picture: cushions, a hand that supports, fingers at the breast, things in front, an adult's head."""

import torch
from torch import Tensor

from vision.training.breast import frame_point
from vision.training.rng import Draws, rotation, unit, vec
from vision.training.solids import (
    ADULT,
    ADULT_HAIR,
    ADULT_LIP,
    ADULT_SKIN,
    EYE,
    FINGERS,
    FRONT,
    HOLDING,
    IRIS,
    PILLOW,
    PROPS,
    SLEEVE,
    Solids,
)  # fmt: skip


def _hand(s: Solids, d: Draws, group: int, wrist: Tensor, to: Tensor, spread: Tensor, on: Tensor) -> None:
    """A palm and four fingers from the wrist to a place."""
    way = unit(to - wrist)
    across = unit(torch.linalg.cross(way, unit(spread)))
    palm = wrist + (to - wrist) * 0.45
    s.cone(group, ADULT_SKIN, wrist, palm, 0.36, 0.4, blend=0.1, on=on)
    for k in range(4):
        side = across * (k - 1.5) * 0.27
        joint = palm + side + way * 0.35
        tip = joint + (way + unit(spread) * d.uniform(-0.6, 0.1, 1)) * d.uniform(0.35, 0.8, 1)
        s.cone(group, ADULT_SKIN, palm + side * 0.8, joint, 0.17, 0.145, blend=0.06, on=on)
        s.cone(group, ADULT_SKIN, joint, tip, 0.145, 0.11, blend=0.02, on=on)


def _over(d: Draws, trunk: Tensor, turn: Tensor) -> Tensor:
    """(n, 3) camera axes: somewhere over the face, the shoulder or the hip."""
    like = d.uniform(0, 1)
    face = vec(d.normal(0.1, 0.9), d.normal(-0.4, 1.0), 0.0, like=like)
    shoulder, hip = ((turn @ trunk[:, i, :, None])[..., 0] for i in (0, 1))
    off = vec(d.normal(0, 0.5), d.normal(0, 0.5), 0.0, like=like)
    which = d.uniform(0, 1)[:, None]
    return torch.where(which < 0.5, face, torch.where(which < 0.75, shoulder, hip) + off)


def _covers(s: Solids, d: Draws, trunk: Tensor, turn: Tensor) -> None:
    """A forearm in its sleeve across the doll, and a blanket over its hips."""
    like = d.uniform(0, 1)
    at = _over(d, trunk, turn) + vec(0.0, 0.0, d.uniform(1.0, 1.9), like=like)
    angle, far = d.uniform(0, 6.28), d.uniform(2.5, 5.0)
    along = vec(angle.cos(), angle.sin(), d.normal(0, 0.08), like=like)
    s.cone(PROPS, SLEEVE, at - along * far[:, None], at + along * d.uniform(0.0, 1.0, 1), d.uniform(0.45, 0.65),
           d.uniform(0.35, 0.5), on=d.chance(0.14))  # fmt: skip
    hips = (turn @ trunk[:, 1, :, None])[..., 0]
    middle = hips + vec(d.normal(0, 0.5), d.normal(0, 0.5), d.uniform(0.2, 0.8), like=like)
    half = torch.stack([d.uniform(0.8, 2.4), d.uniform(0.7, 1.8), d.uniform(0.3, 0.7)], dim=1)
    s.box(PROPS, PILLOW, middle, half, half[:, 2] * 0.9, angle=d.uniform(0, 3.14), on=d.chance(0.1))


def props(s: Solids, d: Draws, row: Tensor, trunk: Tensor, turn: Tensor) -> dict[int, Tensor]:
    """Adds the props; their group's axes are the camera's (x right, y up, z to the camera), its origin the head's.

    Gives the bounding sphere (n, 4: centre, radius; radius 0 where it is absent) of each group of props. `row` is the
    breast, `trunk` (n, 2, 3) the middle between the shoulders and that between the hips, `turn` (n, 3, 3) world to
    camera axes.
    """
    like, trunk_mid = d.uniform(0, 1), trunk.mean(dim=1)
    _covers(s, d, trunk, turn)
    middle = (turn @ trunk_mid[..., None])[..., 0]
    s.box(
        PROPS,
        PILLOW,
        middle * 0.5 + vec(0.0, 0.0, -d.uniform(2.0, 6.0), like=like),
        vec(9.0, 9.0, 0.6, like=like),
        0.3,
        on=d.chance(0.5),
    )
    for _ in range(2):
        away = d.uniform(0, 6.28)
        far = d.uniform(1.0, 3.5)
        at = middle * d.uniform(0, 1, 1) + vec(far * away.cos(), far * away.sin(), -d.uniform(0.8, 2.2), like=like)
        half = torch.stack([d.uniform(0.8, 3.5), d.uniform(0.5, 2.0), d.uniform(0.3, 0.9)], dim=1)
        s.box(
            PROPS,
            PILLOW if _ == 0 else SLEEVE,
            at,
            half,
            half.min(dim=1).values * 0.8,
            angle=d.uniform(0, 3.14),
            on=d.chance(0.45),
        )
    # An arm behind the head and back, its hand on the nape or the back.
    target = torch.where(d.chance(0.5)[:, None], vec(-0.6, -0.6, 0.0, like=like), trunk_mid * 0.5)
    hold = (turn @ target[..., None])[..., 0] + vec(d.normal(0, 0.4), d.normal(0, 0.4), -d.uniform(0.2, 1.2), like=like)
    angle = d.uniform(0, 6.28)
    wrist = hold + vec(1.3 * angle.cos(), 1.3 * angle.sin(), 0.0, like=like)
    elbow = wrist + vec(3.2 * angle.cos(), 3.2 * angle.sin(), d.normal(-0.5, 0.6), like=like)
    on = d.chance(0.45)
    s.cone(HOLDING, SLEEVE, elbow, wrist, 0.62, d.uniform(0.35, 0.5), on=on)
    _hand(s, d, HOLDING, wrist, hold, vec(0.0, 0.0, -1.0, like=like), on)
    spheres = {HOLDING: _sphere((wrist + elbow) / 2, 3.6, on)}
    # A hand in front of something.
    front = _over(d, trunk, turn) + vec(0.0, 0.0, d.uniform(0.9, 1.6), like=like)
    far_end = d.uniform(0, 6.28)
    start = front + vec(1.4 * far_end.cos(), 1.4 * far_end.sin(), 0.1, like=like)
    on = d.chance(0.2)
    s.cone(FRONT, SLEEVE, start + (start - front) * 2.5, start, 0.55, 0.4, on=on)
    _hand(s, d, FRONT, start, front, vec(0.0, 0.0, -1.0, like=like), on)
    spheres[FRONT] = _sphere(start + (start - front) * 0.9, 4.2, on)
    # Fingers that support the breast model.
    on = d.chance(0.25) & (row[:, 0] > 0.5)
    turn_w = torch.where(d.chance(0.5), -1.0, 1.0) * d.uniform(0.7, 1.4)
    tip = frame_point(row, d.normal(0, 0.7), turn_w, row[:, 13] - 0.15)
    base = frame_point(row, d.normal(0, 0.7), turn_w * 2.2, row[:, 13] - d.uniform(0.3, 0.9))
    base, tip, spread = ((turn @ v[..., None])[..., 0] for v in (base, tip, row[:, 10:13]))
    _hand(s, d, FINGERS, base, tip, spread, on)
    spheres[FINGERS] = _sphere((base + tip) / 2, 2.8, on)
    return spheres


def _sphere(centre: Tensor, radius: float, on: Tensor) -> Tensor:
    return torch.cat([centre, (on.float() * radius)[:, None]], dim=1)


def adult_head(s: Solids, d: Draws, turn: Tensor) -> tuple[Tensor, Tensor]:
    """Adds an adult's head; gives its group's rotation (n, 3, 3, world to local) and place in the world (n, 3)."""
    like, size = d.uniform(0, 1), d.uniform(1.2, 1.7)
    on = d.chance(0.22)

    def at(x: float, y: float, z: float) -> Tensor:
        return vec(x, y, z, like=like) * size[:, None]

    s.ellipsoid(ADULT, ADULT_SKIN, at(0, 0.3, 0), at(0.95, 0.95, 0.78), on=on)
    s.ellipsoid(ADULT, ADULT_SKIN, at(0.2, -0.3, 0), at(0.65, 0.85, 0.55), blend=0.2, on=on)
    s.cone(ADULT, ADULT_SKIN, at(0.8, 0.1, 0), at(1.0, -0.15, 0), 0.1, 0.16, blend=0.1, on=on)
    s.ellipsoid(ADULT, ADULT_LIP, at(0.8, -0.5, 0), at(0.1, 0.08, 0.22), on=on)
    s.ball(ADULT, EYE, at(0.78, 0.12, 0.3), 0.13, on=on)
    s.ball(ADULT, IRIS, at(0.86, 0.12, 0.31), 0.06, blend=0.002, on=on)
    s.ellipsoid(ADULT, ADULT_SKIN, at(0.0, 0.0, 0.75), at(0.13, 0.27, 0.08), on=on)
    s.ellipsoid(ADULT, ADULT_HAIR, at(-0.15, 0.42, 0), at(1.05, 1.05, 0.9), blend=0.02, on=on & d.chance(0.8))
    s.cone(ADULT, ADULT_SKIN, at(-0.2, -0.6, 0), at(-0.3, -2.0, 0), 0.5, 0.6, on=on)
    spin = rotation("z", d.normal(0, 40)) @ rotation("y", d.uniform(-180, 180))
    away, far = d.uniform(0, 6.28), d.uniform(2.9, 6.0) + size
    place = vec(far * away.cos(), far * away.sin(), -d.uniform(-0.5, 3.0), like=like)
    return spin @ turn, (turn.transpose(1, 2) @ place[..., None])[..., 0]
