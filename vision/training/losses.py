"""What the network is trained to make small: a likelihood for each answer, so that its spread means something."""

import torch
import torch.nn.functional as nn
from torch import Tensor

from vision.training.anatomy import EAR, HIP, SHOULDER
from vision.training.network import CELLS, HEAD, SIZE, Answer
from vision.training.scenes import Truth

_AT = {name: i for i, name in enumerate(HEAD)}
#: What a point counts that is hidden behind something, and a gape of which a lip edge or the corner is hidden.
_HIDDEN_WEIGHT, _HIDDEN_MOUTH = 0.35, 0.6
#: What each landmark counts: the mouth and the body line are what the measures need.
_COUNTS = (1.3, 1.3, 1.3, 1.0, 1.0, 1.0, 2.0, 2.0, 1.0, 1.0, 0.8, 0.8)
#: How far the trunk may be turned off its side view where the body line counts, degrees; an error beyond the second, in
#: radians, pulls no more.
_LINE_WITHIN, _LINE_MOST = 45.0, 0.8


def _laplace(error: Tensor, log_b: Tensor) -> Tensor:
    return error * torch.exp(-log_b) + log_b


def _mean(value: Tensor, weight: Tensor) -> Tensor:
    return (value * weight).sum() / weight.sum().clamp_min(1e-6)


def _map_loss(answer: Answer, points: Tensor, weight: Tensor) -> Tensor:
    assert answer.log_maps is not None
    cell = torch.arange(CELLS, device=points.device) + 0.5
    at = points / SIZE * CELLS
    gx = torch.exp(-0.5 * ((cell - at[..., 0:1]) / 0.9) ** 2)
    gy = torch.exp(-0.5 * ((cell - at[..., 1:2]) / 0.9) ** 2)
    target = (gy[..., :, None] * gx[..., None, :]).flatten(2)
    target = target / target.sum(-1, keepdim=True).clamp_min(1e-6)
    return _mean(-(target * answer.log_maps).sum(-1), weight)


def _bend(points: Tensor) -> Tensor:
    """(n,) how far the way ear, shoulder, hip turns at the shoulder, radians with sign."""
    a, b = points[:, SHOULDER] - points[:, EAR], points[:, HIP] - points[:, SHOULDER]
    along = (a * b).sum(dim=1)
    return torch.atan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], along + 0.1 * along.sign())


def _line_error(answer: Answer, truth: Truth) -> Tensor:
    """(n,) error of the body line's angle, radians."""
    off = _bend(answer.points.float()) - _bend(truth.points)
    return torch.atan2(off.sin(), off.cos()).abs().clamp(max=_LINE_MOST)


def _head(answer: Answer, name: str) -> Tensor:
    return answer.head[:, _AT[name]].float()


def losses(answer: Answer, truth: Truth) -> dict[str, Tensor]:
    """Each part of the loss, weighted; their sum is what is made small."""
    seen, placed = truth.visibility == 2, truth.visibility > 0
    weight = placed * torch.where(seen, 1.0, _HIDDEN_WEIGHT) * torch.tensor(_COUNTS, device=seen.device)
    error = (answer.points - truth.points).abs().clamp(max=SIZE)
    log_b = answer.log_b.float()
    face = (seen[:, :6].sum(dim=1) >= 3) * 1.0 + 0.05
    facing = seen[:, :6].sum(dim=1) >= 3
    mouth = torch.where(seen[:, :3].all(dim=1), 1.0, (facing & placed[:, :3].all(dim=1)) * _HIDDEN_MOUTH + 1e-3)
    yaw = torch.deg2rad(truth.yaw_deg)
    s, c = _head(answer, "yaw_sin"), _head(answer, "yaw_cos")
    off = torch.atan2(s * yaw.cos() - c * yaw.sin(), c * yaw.cos() + s * yaw.sin() + 1e-6).abs()
    up = torch.stack([_head(answer, "up_x"), _head(answer, "up_y")], dim=1)
    depth = torch.stack([_head(answer, "upper_depth"), _head(answer, "lower_depth")], dim=1)
    size = torch.log2(truth.face_px / 64)
    trunk = (placed[:, 6:8].all(dim=1)) * 1.0 + 0.02
    line = (placed[:, [EAR, SHOULDER, HIP]].all(dim=1) & (truth.trunk_off_deg < _LINE_WITHIN)) * 1.0
    return {
        "maps": _map_loss(answer, truth.points, weight),
        "points": 0.35 * _mean(_laplace(error[..., 0], log_b) + _laplace(error[..., 1], log_b), weight),
        "visibility": 0.4 * nn.cross_entropy(answer.visibility.flatten(0, 1).float(), truth.visibility.flatten().long()),
        "yaw": 0.45 * _mean(_laplace(off, _head(answer, "yaw_log_b").clamp(-5, 2)), face),
        "unit": 0.05 * ((s**2 + c**2 - 1) ** 2).mean(),
        "elevation": 0.2 * _mean(
            _laplace((_head(answer, "elevation") - truth.elevation_deg / 30).abs(), _head(answer, "elevation_log_b").clamp(-5, 2)), face),
        "up": 0.5 * _mean((up - truth.up).abs().sum(1), face),
        "size": 0.4 * _mean((_head(answer, "log2_face") - size).abs(), face),
        "depth": 0.4 * _mean(_laplace(((depth - truth.depths).abs() * 10).sum(1), _head(answer, "depth_log_b").clamp(-4, 3)), mouth),
        "line": 0.6 * _mean(_line_error(answer, truth), line),
        "gape": 1.1 * _mean(_laplace((_head(answer, "gape") - truth.gape_deg / 60).abs(), _head(answer, "gape_log_b").clamp(-4, 2)), mouth),
        "trunk": 0.2 * _mean(_laplace((_head(answer, "trunk_off") - truth.trunk_off_deg / 45).abs(), _head(answer, "trunk_log_b").clamp(-4, 2)), trunk),
        "half_mouth": 0.5 * _mean((_head(answer, "half_mouth") - truth.half_mouth).abs(), face),
    }  # fmt: skip
