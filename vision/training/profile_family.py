"""A family for testing only, never trained on: heads lofted from a profile line, with flat facets.

The face is a sheet of triangles: a profile in the sagittal plane, carried round to the ears; nose and lips fade out
sideways on their own. Skull and ears are solids behind it. Nothing of it is shared with the families in training but
the trunk, the surroundings and the camera.
"""

import torch
from torch import Tensor

from vision.training.anatomy import Anatomy
from vision.training.doll_body import body
from vision.training.renderer import Mesh
from vision.training.rng import Draws, unit, vec
from vision.training.solids import CAVITY, EYE, HAIR, HEAD, IRIS, LIP, SKIN, Solids

_COLUMNS = 41


def _mouth(d: Draws) -> tuple[Tensor, Tensor, Tensor]:
    """Corner, upper and lower edge (n, 2) in the sagittal plane."""
    upper_angle, lower_angle = torch.deg2rad(d.uniform(5, 70)), torch.deg2rad(-d.uniform(5, 85))
    shut = d.chance(0.12)
    upper_angle, lower_angle = torch.where(shut, 0.02, upper_angle), torch.where(shut, -0.02, lower_angle)
    corner = torch.stack([d.uniform(0.68, 0.8), d.uniform(-0.46, -0.34)], dim=1)
    long_u, long_l = d.uniform(0.11, 0.24), d.uniform(0.11, 0.24)
    upper = corner + torch.stack([upper_angle.cos(), upper_angle.sin()], dim=1) * long_u[:, None]
    lower = corner + torch.stack([lower_angle.cos(), lower_angle.sin()], dim=1) * long_l[:, None]
    return corner, upper, lower


def _profile(
    d: Draws, corner: Tensor, upper: Tensor, lower: Tensor
) -> tuple[Tensor, Tensor, Tensor, Tensor, Tensor, Tensor]:
    """Rows from crown to neck: places (n, r, 2), width at the ears, narrow share and its width, mouth row?, material."""
    ny, thick = d.uniform(-0.13, 0.0), d.uniform(0.04, 0.1)
    chin = lower + torch.stack([-d.uniform(0.02, 0.14), -d.uniform(0.15, 0.24)], dim=1)
    brow = d.uniform(0.74, 0.88)
    zero = torch.zeros_like(ny)

    def at(x: Tensor | float, y: Tensor | float) -> Tensor:
        return torch.stack([zero + x, zero + y], dim=1)

    lift_u = upper + at(-0.01, thick)
    lift_l = lower + at(-0.02, -thick)
    inner = corner + at(-0.18, 0.0)
    nose_deep, wide = d.uniform(0.12, 0.24), d.uniform(0.62, 0.78)
    rows = [
        (at(0.1, 1.22), 0.62, 0.0, SKIN, 0), (at(0.55, 1.02), 0.7, 0.0, SKIN, 0), (at(brow * 0.95, 0.68), 0.78, 0.0, SKIN, 0),
        (at(brow, 0.4), 0.78, 0.0, SKIN, 0), (at(brow, 0.24), 0.76, 0.02, SKIN, 0), (at(brow - 0.03, 0.14), 0.75, 0.03, SKIN, 0),
        (at(brow + 0.05, 0.04), 0.74, nose_deep * 0.6, SKIN, 0), (at(0.985, ny + 0.04), 0.73, nose_deep, SKIN, 0),
        (at(1.0, ny), 0.73, nose_deep, SKIN, 0), (at(0.97, ny - 0.06), 0.72, nose_deep, SKIN, 0),
        (at(0.85, ny - 0.12), 0.7, 0.05, SKIN, 0), ((at(0.85, ny - 0.12) + lift_u) / 2, 0.68, 0.04, SKIN, 0),
        (lift_u, 0.66, 0.0, LIP, 1), (upper + at(0.004, thick * 0.4), 0.66, 0.0, LIP, 1), (upper, 0.66, 0.0, LIP, 1),
        ((upper + inner) / 2, 0.66, 0.0, CAVITY, 1), (inner, 0.66, 0.0, CAVITY, 1), ((lower + inner) / 2, 0.66, 0.0, CAVITY, 1),
        (lower, 0.64, 0.0, LIP, 1), (lower + at(0.004, -thick * 0.4), 0.64, 0.0, LIP, 1), (lift_l, 0.62, 0.0, LIP, 1),
        ((lift_l + chin) / 2 - at(0.02, 0.0), 0.6, 0.02, SKIN, 0), (chin, 0.56, 0.05, SKIN, 0), (chin - at(0.05, 0.07), 0.54, 0.03, SKIN, 0),
        (chin - at(0.3, 0.14), 0.5, 0.0, SKIN, 0), (at(0.05, -0.95), 0.45, 0.0, SKIN, 0),
    ]  # fmt: skip
    place = torch.stack([r[0] for r in rows], dim=1)
    width = torch.stack([zero + r[1] * wide / 0.73 for r in rows], dim=1)
    narrow = torch.stack([zero + r[2] for r in rows], dim=1)
    material = torch.tensor([r[3] for r in rows], device=d.device)
    mouth = torch.tensor([r[4] for r in rows], device=d.device).bool()
    return place, width, narrow, material, mouth, chin


def _sheet(
    place: Tensor, width: Tensor, narrow: Tensor, mouth: Tensor, corner: Tensor, half: Tensor, nose_w: Tensor
) -> Tensor:
    """(n, rows, columns, 3)."""
    v = torch.linspace(-1, 1, _COLUMNS, device=place.device)
    v = torch.sign(v) * v.abs() ** 1.5  # finer near the midline
    z = width[..., None] * torch.sin(v * torch.pi / 2)
    fall = torch.cos(v * torch.pi / 2).clamp_min(0) ** 0.7
    x = (place[..., 0] - narrow)[..., None] * fall + narrow[..., None] * torch.exp(-((z / nose_w.view(-1, 1, 1)) ** 2))
    y = place[..., 1, None].expand_as(x)
    edge = (1 - (half[:, None] / width).clamp(max=0.98) ** 2) ** 0.35
    line_x = corner[:, None, 0, None] * fall / edge[..., None]
    share = torch.sqrt((1 - (z / half.view(-1, 1, 1)) ** 2).clamp_min(0))
    mx = line_x + (place[..., 0] - corner[:, None, 0])[..., None] * share
    my = corner[:, None, 1, None] + (place[..., 1] - corner[:, None, 1])[..., None] * share
    inside = mouth.view(1, -1, 1)
    return torch.stack([torch.where(inside, mx, x), torch.where(inside, my, y), z], dim=-1)


def _triangles(rows: int, device: torch.device) -> Tensor:
    r, c = torch.meshgrid(
        torch.arange(rows - 1, device=device), torch.arange(_COLUMNS - 1, device=device), indexing="ij"
    )
    a = (r * _COLUMNS + c).flatten()
    return torch.cat(
        [torch.stack([a, a + 1, a + _COLUMNS], 1), torch.stack([a + 1, a + _COLUMNS + 1, a + _COLUMNS], 1)]
    )


def _behind(s: Solids, d: Draws, half_ear: Tensor) -> None:
    like = half_ear
    s.ellipsoid(
        HEAD, SKIN, vec(-0.2, 0.35, 0.0, like=like), vec(d.uniform(0.75, 1.0), 0.85, half_ear * 1.05, like=like)
    )
    s.ellipsoid(
        HEAD, HAIR, vec(-0.25, 0.42, 0.0, like=like), vec(0.95, 0.88, half_ear * 1.12, like=like), on=d.chance(0.5)
    )
    s.cone(HEAD, SKIN, vec(-0.1, -0.2, 0.0, like=like), vec(-0.15, -0.9, 0.0, like=like), 0.5, 0.4)
    centre = vec(-0.1, 0.03, half_ear + 0.02, like=like)
    s.box(HEAD, SKIN, centre, vec(0.11, 0.2, 0.05, like=like), 0.05, angle=d.uniform(-0.2, 0.2))
    s.ball(HEAD, SKIN, vec(0.0, 0.0, half_ear, like=like), 0.04)
    eye = vec(0.68, 0.12, 0.27, like=like)
    s.box(HEAD, EYE, eye, vec(0.09, 0.04, 0.09, like=like), 0.03, angle=0.1)
    s.ball(HEAD, IRIS, eye + 0.04, 0.05)


def profile_dolls(d: Draws, mats: Tensor, s: Solids) -> tuple[Anatomy, Mesh, Tensor]:
    """Dolls of this family: their anatomy, the sheet of the face, and where the trunk's axes start."""
    corner, upper, lower = _mouth(d)
    place, width, narrow, material, mouth, chin = _profile(d, corner, upper, lower)
    half, half_ear = d.uniform(0.16, 0.26), d.uniform(0.58, 0.74)
    sheet = _sheet(place, width, narrow, mouth, corner, half, d.uniform(0.1, 0.17))
    rows = sheet.shape[1]
    faces = _triangles(rows, d.device)
    corners = sheet.flatten(1, 2)[:, faces]  # (n, f, 3, 3)
    normal = unit(torch.linalg.cross(corners[:, :, 1] - corners[:, :, 0], corners[:, :, 2] - corners[:, :, 0]))
    outward = torch.where(normal[..., 0:1] < 0, -1.0, 1.0)
    row_of = faces[:, 0] // _COLUMNS
    skin = mats[:, material[row_of], 0:3]
    z = corners[..., 2].abs().mean(dim=2)
    skin = torch.where((mouth[row_of][None] & (z > half[:, None]))[..., None], mats[:, None, SKIN, 0:3], skin)
    code = torch.full((*skin.shape[:2], 1), float(SKIN), device=d.device)
    colours = torch.cat([skin, code], dim=2)
    n_faces = len(faces)
    mesh = Mesh(
        verts=corners.flatten(1, 2), normals=(normal * outward).repeat_interleave(3, 1),
        colours=colours.repeat_interleave(3, 1), neutral=corners[0].flatten(0, 1),
        faces=torch.arange(3 * n_faces, device=d.device).view(-1, 3),
    )  # fmt: skip
    _behind(s, d, half_ear)
    joints, trunk, pivot = body(s, d, toy=False)
    nose = place[:, 8]
    flat = [torch.cat([p, torch.zeros_like(p[:, :1])], dim=1) for p in (upper, lower, nose, chin)]
    side = torch.cat([corner, half[:, None]], dim=1)
    ear = vec(0.0, 0.0, half_ear + 0.03, like=half)
    face = torch.stack([side, *flat, ear], dim=1)
    flip = torch.tensor([1.0, 1.0, -1.0], device=d.device)
    right = torch.cat([face, joints[:, 0:1], joints[:, 2:3]], dim=1)
    left = torch.cat([face * flip, joints[:, 1:2], joints[:, 3:4]], dim=1)
    return Anatomy(right=right, left=left, trunk=trunk), mesh, pivot
