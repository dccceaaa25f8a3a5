"""The head of a signed-distance doll: skull, face, a mouth with adjustable lips, in two styles of making.

The mouth is drawn first (corner, two rays, lip bodies, which may be turned out or tucked in); its landmarks are read off
the surface that results. Lengths in face sizes.
"""

from dataclasses import dataclass

import torch
from torch import Tensor

from vision.training.anatomy import direction
from vision.training.rng import Draws, unit, vec
from vision.training.solids import (
    BLUSH,
    CAVITY,
    EYE,
    HAIR,
    HAT,
    HEAD,
    IRIS,
    LIP,
    SKIN,
    TONGUE,
    Solids,
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Mouth:
    """corner (n, 3) on the right; upper, lower: free edges at the midline; bodies: centres of the lips there."""

    corner: Tensor
    upper: Tensor
    lower: Tensor
    upper_body: Tensor
    lower_body: Tensor
    radii: Tensor
    gap: Tensor
    gape_deg: Tensor
    bisector_deg: Tensor


def _mouth(d: Draws, toy: bool) -> Mouth:
    gape = torch.where(d.chance(0.1), d.uniform(0, 8), d.uniform(12, 165))
    gape = torch.where(d.chance(0.35), d.uniform(50, 150), gape)
    bisector = d.normal(-12, 14)
    corner = vec(d.uniform(0.64, 0.84), d.uniform(-0.5, -0.28), d.uniform(0.14, 0.29), like=gape)
    size = d.uniform(0.09, 0.26) if not toy else d.uniform(0.1, 0.32)
    rays = [size * d.log_uniform(0.75, 1.33) for _ in range(2)]
    radius = torch.stack([d.uniform(0.02, 0.06), d.uniform(0.022, 0.065)], dim=1)
    radius = radius * (size / 0.16).clamp(0.7, 1.3)[:, None]
    points, bodies = [], []
    for k, sign in ((0, 1.0), (1, -1.0)):
        angle = bisector + sign * gape / 2
        edge = corner * torch.tensor([1.0, 1.0, 0.0], device=d.device) + direction(angle) * rays[k][:, None]
        out = direction(angle + sign * 90)
        lean = d.normal(0, 0.35)  # turned out to the front, or tucked in
        body = edge + out * radius[:, k, None] + direction(bisector) * (lean * radius[:, k])[:, None]
        back = unit(edge - body)
        points.append(body + back * radius[:, k, None])
        bodies.append(body)
    gap = (points[0] - points[1]).norm(dim=1)
    return Mouth(
        corner=corner, upper=points[0], lower=points[1], upper_body=bodies[0], lower_body=bodies[1], radii=radius,
        gap=gap, gape_deg=gape, bisector_deg=bisector,
    )  # fmt: skip


def _lips(s: Solids, d: Draws, m: Mouth) -> None:
    bow = d.uniform(0.7, 1.4)
    corner_r = d.uniform(0.012, 0.025)
    for k, body in ((0, m.upper_body), (1, m.lower_body)):
        last, last_r = m.corner - vec(0.0, 0.0, corner_r, like=bow), corner_r
        for step in (1, 2, 3, 4):
            t = torch.tensor(step / 4 * torch.pi / 2)
            along = t.sin() ** bow
            point = m.corner + (body - m.corner) * along[:, None]
            point[:, 2] = m.corner[:, 2] * t.cos()
            r = corner_r + (m.radii[:, k] - corner_r) * along
            s.cone(HEAD, LIP, last, point, last_r, r, blend=0.012, soft=0.012)
            last, last_r = point, r


def _skull(s: Solids, d: Draws, half_ear: Tensor, toy: bool) -> None:
    skull_r = vec(d.uniform(0.88, 1.15), d.uniform(0.68, 0.95), half_ear * d.uniform(1.02, 1.3), like=half_ear)
    if toy:
        skull_r = skull_r * d.uniform(1.0, 1.25)[:, None]
    centre = vec(d.uniform(-0.25, 0.02), d.uniform(0.3, 0.55), 0.0, like=half_ear)
    s.ellipsoid(HEAD, SKIN, centre, skull_r, blend=0.1)
    s.ellipsoid(HEAD, SKIN, vec(0.0, 0.0, 0.0, like=half_ear), vec(0.55, 0.5, half_ear, like=half_ear), blend=0.2)
    hair = d.chance(0.45)
    shift = vec(d.uniform(-0.2, -0.04), d.uniform(0.02, 0.16), 0.0, like=half_ear)
    thick = d.uniform(0.01, 0.1)
    s.ellipsoid(HEAD, HAIR, centre + shift, skull_r + thick[:, None], blend=0.02, soft=0.01, on=hair)
    s.ellipsoid(HEAD, HAT, centre + shift, skull_r + 0.06, blend=0.02, soft=0.01, on=d.chance(0.12) & ~hair)


def _eyes(s: Solids, d: Draws, face: Tensor) -> None:
    at = vec(face + d.uniform(-0.04, 0.03), d.uniform(0.08, 0.24), d.uniform(0.24, 0.36), like=face)
    open_eye, r = d.chance(0.5), d.uniform(0.07, 0.12)
    s.ball(HEAD, EYE, at, r, blend=0.02, soft=0.01, on=open_eye)
    s.ball(HEAD, IRIS, at + vec(r * 0.75, 0.0, r * 0.1, like=r), r * 0.48, blend=0.002, soft=0.005, on=open_eye)
    s.ball(HEAD, SKIN, at - vec(0.03, 0.0, 0.0, like=r), r * 1.1, blend=0.06, on=~open_eye)
    low = vec(r * 0.95, -0.03, 0.0, like=r)
    side = vec(r * 0.3, -0.02, r * 0.9, like=r)
    s.cone(HEAD, IRIS, at + low, at + side, 0.012, 0.01, blend=0.004, soft=0.006, on=~open_eye)
    brow = vec(0.05, 0.2, -0.1, like=r)
    end = vec(-0.06, 0.21, 0.12, like=r)
    s.cone(HEAD, HAIR, at + brow, at + end, 0.022, 0.014, blend=0.01, soft=0.01, on=d.chance(0.6))


def _nose(s: Solids, d: Draws, tip_y: Tensor, face: Tensor, toy: bool) -> Tensor:
    r = d.uniform(0.06, 0.13)
    tip = vec(1 - r, tip_y, 0.0, like=r)
    bridge = vec(face + d.uniform(-0.02, 0.1), d.uniform(0.1, 0.3), 0.0, like=r)
    s.cone(HEAD, SKIN, bridge, tip, d.uniform(0.05, 0.09), r, blend=0.08, on=torch.full_like(tip_y, not toy) > 0.5)
    s.ball(HEAD, BLUSH, tip, r, blend=0.06, soft=0.05)
    s.ball(HEAD, SKIN, tip + vec(-0.06, -0.03, d.uniform(0.05, 0.1), like=r), r * d.uniform(0.5, 0.8), blend=0.04)
    return tip + vec(r, 0.0, 0.0, like=r)


def _chin(s: Solids, d: Draws, m: Mouth) -> Tensor:
    r = d.uniform(0.08, 0.17)
    drop = d.uniform(0.13, 0.24)
    back = d.uniform(-0.02, 0.08) + 0.001 * m.gape_deg * d.uniform(0, 1.2)
    point = m.lower + vec(-back, -drop, 0.0, like=r)
    centre = point - vec(r, 0.0, 0.0, like=r)
    hinge = vec(0.1, d.uniform(-0.5, -0.25), d.uniform(0.3, 0.45), like=r)
    s.cone(HEAD, SKIN, hinge, centre, d.uniform(0.15, 0.25), r, blend=0.12)
    s.ball(HEAD, SKIN, centre, r, blend=0.05)
    s.cone(HEAD, SKIN, m.lower_body - vec(0.04, 0.04, 0.0, like=r), centre, m.radii[:, 1] * 1.1, r * 0.8, blend=0.06)
    s.ball(HEAD, SKIN, vec(0.25, -0.55, 0.0, like=r), d.uniform(0.25, 0.4), blend=0.2, on=d.chance(0.5))
    return point


def _ear(s: Solids, d: Draws, half_ear: Tensor) -> Tensor:
    up, lean = d.uniform(0.16, 0.3), d.uniform(-0.3, 0.2)
    wide = d.uniform(0.08, 0.15)
    centre = vec(-wide * 0.9, d.uniform(-0.02, 0.1), half_ear + d.uniform(0.0, 0.06), like=wide)
    s.ellipsoid(HEAD, SKIN, centre, vec(wide, up, d.uniform(0.04, 0.08), like=wide), angle=lean, blend=0.03)
    inner = centre + vec(0.03, 0.0, 0.05, like=wide)
    on = d.chance(0.8)
    s.ellipsoid(
        HEAD, SKIN, inner, vec(wide * 0.5, up * 0.55, 0.04, like=wide), angle=lean, blend=0.03, hollow=True, on=on
    )
    s.ball(HEAD, SKIN, vec(0.0, 0.0, half_ear - 0.02, like=wide), 0.035, blend=0.03)
    return vec(0.0, 0.0, half_ear + 0.012, like=wide)


def head(s: Solids, d: Draws, *, toy: bool) -> tuple[Tensor, Mouth]:
    """Adds a head; gives corner, lips, nose, chin and ear of the right side (n, 6, 3), and its mouth."""
    half_ear, face = d.uniform(0.55, 0.82), d.uniform(0.68, 0.82)
    m = _mouth(d, toy)
    _skull(s, d, half_ear, toy)
    middle = vec(0.22, d.uniform(-0.2, 0.0), 0.0, like=face)
    s.ellipsoid(HEAD, SKIN, middle, vec(face - 0.2, d.uniform(0.5, 0.7), d.uniform(0.45, 0.62), like=face), blend=0.15)
    lean = unit(vec(-0.9, d.uniform(0.0, 0.35), d.uniform(0.1, 0.5), like=face))
    r = d.uniform(0.24, 0.42)
    s.ball(HEAD, BLUSH, m.corner + lean * (r + d.uniform(0.01, 0.06))[:, None], r, blend=0.06, soft=0.08)
    tip_y = d.uniform(-0.16, 0.02)
    nose_base = vec(0.84, tip_y - 0.08, 0.0, like=face)
    lift = m.upper_body + vec(-0.05, 0.03, 0.0, like=face)
    s.cone(
        HEAD,
        SKIN,
        nose_base - vec(0.1, 0.0, 0.0, like=face),
        lift,
        d.uniform(0.07, 0.11),
        m.radii[:, 0] * 1.1,
        blend=0.06,
    )
    side = m.corner + (m.upper_body - m.corner) * 0.6 + vec(-0.12, 0.07, m.corner[:, 2] * 0.3, like=face)
    s.cone(HEAD, SKIN, side, m.corner + lean * 0.17, 0.06, 0.1, blend=0.05)
    chin = _chin(s, d, m)
    wide_open = m.gap > 0.045
    into = direction(m.bisector_deg)
    centre = (m.upper + m.lower) / 2 - into * 0.2
    hollow = vec(d.uniform(0.24, 0.3), m.gap * 0.48, m.corner[:, 2] * d.uniform(0.8, 0.95), like=face)
    angle = torch.deg2rad(m.bisector_deg)
    s.ellipsoid(HEAD, CAVITY, centre, hollow, angle=angle, blend=0.02, hollow=True, on=wide_open)
    tongue = vec(0.2, m.gap * d.uniform(0.1, 0.25), m.corner[:, 2] * 0.6, like=face)
    s.ellipsoid(HEAD, TONGUE, centre - into * 0.05 + (m.lower - centre) * 0.45, tongue, angle=angle, blend=0.01,
                on=wide_open & d.chance(0.6))  # fmt: skip
    nose = _nose(s, d, tip_y, face, toy)
    _eyes(s, d, face)
    ear = _ear(s, d, half_ear)
    _lips(s, d, m)
    corner = m.corner + vec(0.0, 0.0, 0.008, like=face)
    return torch.stack([corner, m.upper, m.lower, nose, chin, ear], dim=1), m
