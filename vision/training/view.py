"""Where the camera stands and what it frames: the whole picture, or the crop round an upright head."""

from dataclasses import dataclass

import torch
from torch import Tensor

from vision.training.anatomy import Anatomy
from vision.training.rng import Draws, unit, vec

SIZE = 256


@dataclass(frozen=True, kw_only=True)
class View:
    """A batch of cameras and what they see of the head.

    cam (n, 20); yaw, elevation and how far the trunk is turned off its side view in degrees (n,); up (n, 2) the head's
    up direction in the picture (x right, y down); face_px (n,) the face size at the mouth's depth; head_right,
    trunk_right (n,): whether that right side faces the camera.
    """

    cam: Tensor
    yaw_deg: Tensor
    elevation_deg: Tensor
    trunk_off_deg: Tensor
    up: Tensor
    face_px: Tensor
    head_right: Tensor
    trunk_right: Tensor


def _line_of_sight(d: Draws) -> tuple[Tensor, Tensor, Tensor]:
    yaw = torch.where(d.chance(0.84), d.uniform(54, 122), d.uniform(4, 176))
    c = torch.cos(torch.deg2rad(yaw))
    top = torch.sqrt((1 - c * c).clamp_min(0))
    s = torch.where(d.chance(0.8), d.normal(0, 0.2), d.uniform(-0.5, 0.5))
    s = torch.maximum(torch.minimum(s, 0.9 * top), -0.9 * top)
    lateral = torch.sqrt((1 - c * c - s * s).clamp_min(0)) * torch.where(d.chance(0.5), 1.0, -1.0)
    return torch.stack([c, s, lateral], dim=1), yaw, torch.rad2deg(torch.asin(s))


def project(cam: Tensor, points: Tensor) -> Tensor:
    """Pixels (n, k, 2) of points (n, k, 3)."""
    rel = points - cam[:, None, 0:3]
    z = (rel * cam[:, None, 9:12]).sum(-1).clamp_min(0.05)
    x = (rel * cam[:, None, 3:6]).sum(-1) / z
    y = (rel * cam[:, None, 6:9]).sum(-1) / z
    return torch.stack([cam[:, None, 13] + cam[:, None, 12] * x, cam[:, None, 14] - cam[:, None, 12] * y], dim=-1)


def _head_and_hips(cam: Tensor, anatomy: Anatomy) -> Tensor:
    """(n, 2, 2) pixels."""
    head = torch.zeros(len(cam), 1, 3, device=cam.device) + torch.tensor([0.4, 0.0, 0.0], device=cam.device)
    hips = (anatomy.right[:, None, 7] + anatomy.left[:, None, 7]) / 2
    return project(cam, torch.cat([head, hips], dim=1))


def _body_crop(d: Draws, at: Tensor) -> Tensor:
    """Shift (n, 2) that frames head and trunk, given where head and hips lie (n, 2, 2)."""
    middle = at[:, 0] + (at[:, 1] - at[:, 0]) * d.uniform(0.3, 0.62, 1)
    return SIZE / 2 - middle + d.normal(0, 0.05, 2) * SIZE


def _body_look(d: Draws, share: float) -> tuple[Tensor, Tensor, Tensor]:
    """Which pictures are crops round an upright head and its trunk, their face size and roll."""
    roll = torch.where(d.chance(0.85), d.normal(0, 9), d.uniform(-28, 28))
    return d.chance(share), SIZE / d.log_uniform(4.2, 7.2), roll


def whole_view(d: Draws, anatomy: Anatomy) -> View:
    """The whole picture: any roll, near and far, the head anywhere; half are crops round an upright body."""
    body, body_face, body_roll = _body_look(d, 0.5)
    face = torch.where(body, body_face, d.log_uniform(13, 105))
    roll = torch.where(body, body_roll, d.uniform(-180, 180))
    cam, sight = _cameras(d, anatomy, face, roll, d.normal(0, 1.0, 3))
    at = _head_and_hips(cam, anatomy)
    share = torch.where(d.chance(0.7), d.uniform(0.2, 0.6), d.uniform(-0.1, 0.3))
    wanted = at[:, 0] + (at[:, 1] - at[:, 0]) * share[:, None]
    shift = SIZE / 2 - wanted + d.normal(0, 24, 2)
    where = at[:, 0] + shift
    margin = (0.8 * face).clamp_max(100)[:, None]
    shift = shift + where.clamp(min=margin, max=SIZE - margin) - where
    cam[:, 13:15] += torch.where(body[:, None], _body_crop(d, at), shift)
    return _finished(cam, anatomy, sight)


def close_view(d: Draws, anatomy: Anatomy) -> View:
    """The crop round a head that was found: nearly upright, well scaled, with the finder's errors; a fifth shows the body."""
    body, body_face, body_roll = _body_look(d, 0.2)
    side = torch.where(body, SIZE / body_face, d.log_uniform(1.35, 3.8))
    roll = torch.where(body, body_roll, torch.where(d.chance(0.85), d.normal(0, 9), d.uniform(-32, 32)))
    cam, sight = _cameras(d, anatomy, SIZE / side, roll, d.normal(0, 0.5, 3))
    share = ((side - 1.35) / 1.6).clamp(0, 1)
    mouth = anatomy.mouth_middle()
    face = torch.tensor([0.5, -0.15, 0.0], device=d.device)
    centre = mouth * (1 - 0.6 * share)[:, None] + face * (0.6 * share)[:, None]
    at = project(cam, centre[:, None])[:, 0]
    jitter = d.normal(0, 0.11, 2) * SIZE
    head_crop = SIZE / 2 - at + jitter
    cam[:, 13:15] += torch.where(body[:, None], _body_crop(d, _head_and_hips(cam, anatomy)), head_crop)
    return _finished(cam, anatomy, sight)


def side_view(d: Draws, anatomy: Anatomy) -> View:
    """For tests: whole pictures from the side, within 30 degrees of it and 20 of the face's level, at any roll."""
    yaw, s = d.uniform(60, 120), torch.sin(torch.deg2rad(d.uniform(-20, 20)))
    c = torch.cos(torch.deg2rad(yaw))
    lateral = torch.sqrt((1 - c * c - s * s).clamp_min(0)) * torch.where(d.chance(0.5), 1.0, -1.0)
    sight = (torch.stack([c, s, lateral], dim=1), yaw, torch.rad2deg(torch.asin(s)))
    face = d.log_uniform(16, 62)
    cam, sight = _cameras(d, anatomy, face, d.uniform(-180, 180), d.normal(0, 0.5, 3), sight)
    head = torch.tensor([0.4, -0.2, 0.0], device=d.device).expand(d.n, 3)
    hips = (anatomy.right[:, 7] + anatomy.left[:, 7]) / 2
    at = project(cam, torch.stack([head, hips], dim=1))
    share = d.uniform(0.1, 0.5) * (30 / face).clamp(max=1)
    cam[:, 13:15] += SIZE / 2 - (at[:, 0] + (at[:, 1] - at[:, 0]) * share[:, None]) + d.normal(0, 8, 2)
    return _finished(cam, anatomy, sight)


def _cameras(d: Draws, anatomy: Anatomy, face: Tensor, roll: Tensor, aim: Tensor,
             sight: tuple[Tensor, Tensor, Tensor] | None = None) -> tuple[Tensor, tuple[Tensor, Tensor, Tensor]]:  # fmt: skip
    to_camera, yaw, elevation = sight if sight is not None else _line_of_sight(d)
    distance = d.log_uniform(6.5, 45)
    mouth = anatomy.mouth_middle()
    eye = mouth + to_camera * distance[:, None]
    forward = unit(mouth + aim - eye)
    head_up = torch.tensor([0.0, 1.0, 0.0], device=d.device).expand(d.n, 3)
    level = unit(torch.linalg.cross(forward, head_up))
    upright = torch.linalg.cross(level, forward)
    a = torch.deg2rad(roll)[:, None]
    right, up = level * a.cos() + upright * a.sin(), upright * a.cos() - level * a.sin()
    cam = torch.zeros(d.n, 20, device=d.device)
    cam[:, 0:3], cam[:, 3:6], cam[:, 6:9], cam[:, 9:12] = eye, right, up, forward
    z = ((mouth - eye) * forward).sum(-1)
    cam[:, 12], cam[:, 13], cam[:, 14], cam[:, 16] = face * z, SIZE / 2, SIZE / 2, 0.5
    return cam, (to_camera, yaw, elevation)


def _finished(cam: Tensor, anatomy: Anatomy, sight: tuple[Tensor, ...]) -> View:
    to_camera, yaw, elevation = sight
    mouth = anatomy.mouth_middle()
    lateral = (anatomy.trunk[:, :, 2] * to_camera).sum(-1)
    head_right = to_camera[:, 2] > 0
    trunk_right = torch.where(lateral.abs() < 0.15, head_right, lateral > 0)
    step = torch.tensor([0.0, 0.1, 0.0], device=cam.device)
    ends = project(cam, torch.stack([mouth, mouth + step], dim=1))
    z = ((mouth - cam[:, 0:3]) * cam[:, 9:12]).sum(-1)
    return View(
        cam=cam, yaw_deg=yaw, elevation_deg=elevation,
        trunk_off_deg=torch.rad2deg(torch.acos(lateral.abs().clamp(max=1.0))),
        up=unit(ends[:, 1] - ends[:, 0]), face_px=cam[:, 12] / z, head_right=head_right, trunk_right=trunk_right,
    )  # fmt: skip


def light_camera(light: Tensor, anatomy: Anatomy, size: int) -> Tensor:
    """An orthographic camera that looks along the light at the doll's head and chest."""
    direction = light[:, 0:3]
    centre = torch.tensor([0.0, -1.2, 0.0], device=light.device)
    helper = torch.where(direction[:, 1:2].abs() > 0.9, 0.0, 1.0) * torch.tensor([0.0, 1.0, 0.0], device=light.device)
    helper = helper + vec(1e-3, 0.0, 1e-3, like=light[:, 0])
    right = unit(torch.linalg.cross(-direction, helper))
    cam = torch.zeros(len(light), 20, device=light.device)
    cam[:, 0:3] = centre + direction * 12
    cam[:, 3:6], cam[:, 9:12] = right, -direction
    cam[:, 6:9] = torch.linalg.cross(right, -direction)
    cam[:, 12], cam[:, 13], cam[:, 14], cam[:, 15], cam[:, 16] = size / 8.0, size / 2, size / 2, 1, 0.1
    return cam
