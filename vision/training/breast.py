"""The teaching breast in front of the mouth, and how it gives way to the face that presses into it.

It is a height field over the plane square to its axis: `u` from chin to nose, `w` to the doll's right, height along the
axis into the mouth. Row layout of a breast, as the renderer reads it:

0 there?, 1-3 origin, 4-6 u, 7-9 w, 10-12 axis, 13 top, 14-15 centre (u, w), 16 radius, 17 height, 18 areola radius,
19-20 areola centre, 21-22 nipple height and radius, 23-24 drawn-in height and width, 25-26 bend of the torso along u
and w, 27 half side of the map, 28-29 exponents of the dome, 30 half extent, 31 where the dress begins over the radius.
"""

from dataclasses import replace

import torch
import torch.nn.functional as nn
from torch import Tensor

from vision.training.anatomy import Anatomy
from vision.training.renderer import FAR, GIVE_N, Scenes, depth_map
from vision.training.rng import Draws, rotation, vec
from vision.training.solids import PROPS

#: Where the rays that feel for the face start, before the frame's origin.
_START = 8.0
_RING = 48


def breast(d: Draws, anatomy: Anatomy, gap: Tensor) -> tuple[Tensor, Tensor]:
    """Rows (n, 32) and whether the doll is at the breast (n,)."""
    like = d.uniform(0, 1)
    at = d.chance(0.68)
    turn = rotation("z", -d.normal(18, 14)) @ rotation("y", d.normal(0, 7))
    right = torch.tensor([0.0, 0.0, 1.0], device=d.device)
    forward, up = turn[:, :, 0], turn[:, :, 1]
    axis, across = -forward, turn @ right
    away = torch.where(at, 0.0, d.log_uniform(0.06, 1.6))
    lift = torch.where(at, d.normal(0, 0.04), d.normal(0.15, 0.25))
    corner = anatomy.right[:, 0] * torch.tensor([1.0, 1.0, 0.0], device=d.device)
    middle = anatomy.mouth_middle() * 0.85 + corner * 0.15
    origin = (
        middle - axis * away[:, None] + up * lift[:, None] + across * torch.where(at, 0.0, d.normal(0, 0.1))[:, None]
    )
    radius, height = d.uniform(0.5, 1.6), d.uniform(0.25, 0.95)
    drawn = torch.where(at & (gap > 0.06), d.uniform(0.12, 0.5), 0.0)
    centre = [d.normal(-0.1, 0.25), d.normal(0, 0.12)]
    areola_shift = [torch.where(at, d.normal(0.05, 0.09), d.normal(0, 0.05)), d.normal(0, 0.04)]
    top = torch.where(at, d.uniform(-0.22, 0.12), d.uniform(-0.2, 0.0))
    row = torch.stack(
        [
            (~d.chance(0.07)).float(), *origin.unbind(1), *up.unbind(1), *across.unbind(1), *axis.unbind(1),
            top, *centre, radius, height, d.log_uniform(0.14, 0.55), *areola_shift, d.uniform(0.02, 0.2),
            d.uniform(0.05, 0.11), drawn, (gap * d.uniform(0.4, 0.7)).clamp(0.06, 0.3), d.uniform(1.2, 5),
            d.uniform(1.2, 6), torch.full_like(like, 1.6), d.uniform(1.6, 3.2), d.uniform(0.5, 1.0), d.uniform(1.2, 4.0),
            d.uniform(0.85, 1.9),
        ], dim=1,
    )  # fmt: skip
    return row, at


def heights(row: Tensor, u: Tensor, w: Tensor) -> Tensor:
    """The undisturbed height over (u, w), each (n, ...): the renderer's formula."""
    b = [row[:, i].view(-1, *[1] * (u.dim() - 1)) for i in range(32)]
    du, dw = u - b[14], w - b[15]
    r = torch.hypot(du, dw)
    dome = b[17] * (1 - (r / b[16]).clamp(0, 1) ** b[28]).clamp_min(0) ** b[29]
    bent = ((r - 0.3) / 0.8).clamp(0, 1) * (0.5 * du**2 / b[25] + 0.5 * dw**2 / b[26])
    ra = torch.hypot(u - b[19], w - b[20])
    drawn = b[23] * torch.exp(-((ra / b[24].clamp_min(1e-3)) ** 4))
    nipple = b[21] * (1 - (ra / (b[22] * 1.35)) ** 4).clamp_min(0).sqrt()
    areola = 0.02 / (1 + torch.exp(((ra - b[18]) / 0.016).clamp(-30, 30)))
    return b[13] - b[17] + dome - bent + torch.where(b[23] > 0, drawn, nipple) + areola


def _grid(row: Tensor) -> tuple[Tensor, Tensor]:
    half = row[:, 27].view(-1, 1, 1)
    line = (torch.arange(GIVE_N, device=row.device) + 0.5) / GIVE_N * 2 - 1
    u, w = torch.meshgrid(line, line, indexing="ij")
    return u[None] * half, w[None] * half


def _camera_along(row: Tensor) -> Tensor:
    cam = torch.zeros(len(row), 20, device=row.device)
    cam[:, 0:3] = row[:, 1:4] - row[:, 10:13] * _START
    cam[:, 3:6], cam[:, 6:9], cam[:, 9:12] = row[:, 7:10], -row[:, 4:7], row[:, 10:13]
    cam[:, 12], cam[:, 13], cam[:, 14] = GIVE_N / (2 * row[:, 27]), GIVE_N / 2, GIVE_N / 2
    cam[:, 15], cam[:, 16] = 1, 0.1
    return cam


def giving_way(scenes: Scenes) -> Tensor:
    """(n, GIVE_N, GIVE_N): how far the height field yields to the doll, hard dents with a soft rim."""
    row = scenes.breast
    groups = scenes.groups.clone()
    groups[:, PROPS:, 16] = 0
    depth = depth_map(replace(scenes, groups=groups), _camera_along(row), GIVE_N)
    doll = torch.where(depth >= FAR, 99.0, depth - _START)
    give = (heights(row, *_grid(row)) - (doll - 0.004)).clamp_min(0)
    hard = nn.max_pool2d(give[:, None], 3, 1, 1)
    kernel = torch.exp(-0.5 * (torch.arange(-3, 4, device=row.device) / 1.1) ** 2)
    kernel = (kernel / kernel.sum()).view(1, 1, 1, 7)
    rim = nn.conv2d(nn.conv2d(hard, kernel, padding=(0, 3)), kernel.transpose(2, 3), padding=(3, 0))
    return torch.maximum(hard, 0.92 * rim)[:, 0]


def _placed(row: Tensor, u: Tensor, w: Tensor, h: Tensor) -> Tensor:
    at = torch.stack([u, w, h], dim=-1).flatten(1, -2)
    frame = torch.stack([row[:, 4:7], row[:, 7:10], row[:, 10:13]], dim=1)
    return row[:, None, 1:4] + at @ frame


def nearest_places(row: Tensor, give: Tensor, points: Tensor) -> Tensor:
    """(n, k, 3): the breast's surface nearest to each of points (n, k, 3)."""
    u, w = _grid(row)
    surface = _placed(row, u, w, heights(row, u, w) - give)[:, :, :]
    best = torch.cdist(points, surface).argmin(dim=2)
    return torch.gather(surface, 1, best[..., None].expand(-1, -1, 3))


def areola_ring(row: Tensor, give: Tensor) -> Tensor:
    """(n, 48, 3) places on the areola's edge."""
    angle = torch.linspace(0, 2 * torch.pi, _RING + 1, device=row.device)[:-1][None]
    rim = row[:, 18, None] * (1 + 0.02 * torch.sin(3 * angle + 1) + 0.015 * torch.sin(7 * angle))
    u, w = row[:, 19, None] + rim * torch.sin(angle), row[:, 20, None] + rim * torch.cos(angle)
    at = torch.stack([w, u], dim=-1) / row[:, 27, None, None]
    yielded = nn.grid_sample(give[:, None], at[:, :, None], align_corners=False, padding_mode="border")[:, 0, :, 0]
    return _placed(row, u, w, heights(row, u, w) - yielded)


def furthest_seen(row: Tensor, ring: Tensor, seen: Tensor, lips: Tensor) -> Tensor:
    """(n, 2, 3): the areola's edge in sight furthest beyond each lip (n, 2, 3), the lip's own place where none is."""
    out = []
    for k, sign in ((0, 1.0), (1, -1.0)):
        beyond = sign * ((ring - lips[:, k, None]) * row[:, None, 4:7]).sum(-1)
        beyond = torch.where(seen, beyond, -9.0)
        best = beyond.argmax(dim=1)
        place = ring[torch.arange(len(ring), device=ring.device), best]
        none = beyond.max(dim=1).values < 0.014
        out.append(torch.where(none[:, None], lips[:, k], place))
    return torch.stack(out, dim=1)


def frame_point(row: Tensor, u: Tensor | float, w: Tensor | float, h: Tensor | float) -> Tensor:
    """(n, 3) world place of one frame place."""
    return row[:, 1:4] + (vec(u, w, h, like=row[:, 0])[:, None] @ row[:, 4:13].view(-1, 3, 3))[:, 0]
