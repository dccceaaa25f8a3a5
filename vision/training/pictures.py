"""From renders to photos: backgrounds, things in front, exposure, tint, blur, noise, JPEG, borders, mirror and turns."""

from dataclasses import fields, replace

import torch
import torch.nn.functional as nn
from torch import Tensor

from vision.training.backgrounds import background, resized, working
from vision.training.rng import Draws
from vision.training.scenes import Truth

#: Fill of what lies outside the photo, display value; the detector fills with the same.
FILL = 114.0


def _in_front(picture: Tensor, truth: Truth, seed: int) -> tuple[Tensor, Truth]:
    """A patch over a ninth of the pictures, drawn so that only those are touched."""
    n, size = len(picture), picture.shape[-1]
    visibility, part = truth.visibility.clone(), max(1, n // 9)
    line = torch.arange(size, device=picture.device) + 0.5
    for k in (0, part):
        rows = slice(k, k + part)
        if k + part > n or n < 4:
            break
        sub = Draws(part, seed + 1 + k, picture.device)
        centre, radii = sub.uniform(0, size, 2), sub.uniform(0.04 * size, 0.2 * size, 2)
        turn = sub.uniform(0, 3.14)

        def cover(x: Tensor, y: Tensor, c: Tensor = centre, r: Tensor = radii, a: Tensor = turn) -> Tensor:
            shape = (-1, *[1] * (x.dim() - 1))
            dx, dy = x - c[:, 0].view(shape), y - c[:, 1].view(shape)
            ca, sa = a.cos().view(shape), a.sin().view(shape)
            one, two = (ca * dx + sa * dy) / r[:, 0].view(shape), (ca * dy - sa * dx) / r[:, 1].view(shape)
            return one**2 + two**2 < 1

        mask = cover(line.view(1, 1, -1).expand(part, size, size), line.view(1, -1, 1).expand(part, size, size))
        texture = 1 + 0.3 * resized(sub.normal(0, 1, 3, 6, 6), size)
        patch = (sub.uniform(0.03, 0.8, 3, 1, 1) * texture).to(picture.dtype)
        picture[rows] = torch.where(mask[:, None], patch, picture[rows])
        hidden = cover(truth.points[rows, :, 0], truth.points[rows, :, 1])
        visibility[rows] = torch.where(hidden & (visibility[rows] == 2), 1, visibility[rows])
    return picture, replace(truth, visibility=visibility)


def _blurred(d: Draws, picture: Tensor) -> Tensor:
    n, c, h, w = picture.shape
    sigma = torch.where(d.chance(0.7), d.uniform(0.3, 0.8), d.log_uniform(0.6, 2.6)).view(-1, 1)
    taps = torch.arange(-6, 7, device=d.device).view(1, -1)
    kernel = torch.exp(-0.5 * (taps / sigma) ** 2)
    kernel = (kernel / kernel.sum(dim=1, keepdim=True)).repeat_interleave(c, 0).to(picture.dtype)
    flat = nn.pad(picture.reshape(1, n * c, h, w), (6, 6, 6, 6), mode="replicate")
    flat = nn.conv2d(flat, kernel.view(-1, 1, 1, 13), groups=n * c)
    return nn.conv2d(flat, kernel.view(-1, 1, 13, 1), groups=n * c).view(n, c, h, w)


def _compressed(d: Draws, picture: Tensor) -> Tensor:
    """A JPEG-like loss on some pictures: 8 by 8 cosine blocks, coarser where frequencies are high."""
    k = torch.arange(8, device=d.device, dtype=torch.float32)
    basis = torch.cos((2 * k[None] + 1) * k[:, None] * torch.pi / 16) * 0.5
    basis[0] *= 2**-0.5
    n, c, h, w = picture.shape
    coarse = torch.where(d.chance(0.5), d.log_uniform(0.5, 9), 0.05)
    step = ((1 + k[None] + k[:, None])[:, None, :] * coarse.view(-1, 1, 1, 1)).to(picture.dtype)  # (n, 8, 1, 8)
    basis = basis.to(picture.dtype)
    rows = basis @ picture.reshape(n, c * h // 8, 8, w)
    coefficients = (rows.reshape(-1, 8) @ basis.T).view(n, c * h // 8, 8, w // 8, 8)
    kept = (coefficients / step[:, None]).round() * step[:, None]
    return (basis.T @ (kept.reshape(-1, 8) @ basis).view(n, c * h // 8, 8, w)).view(n, c, h, w)


def _bordered(d: Draws, picture: Tensor, truth: Truth, close: bool) -> tuple[Tensor, Truth]:
    size = picture.shape[-1]
    line = torch.arange(size, device=d.device) + 0.5
    low, high = torch.zeros(d.n, 2, device=d.device), torch.full((d.n, 2), float(size), device=d.device)
    if close:
        cut = d.uniform(0, 0.3, 2) * (d.uniform(0, 1, 2) < 0.15)
        first = d.uniform(0, 1, 2) < 0.5
        low, high = torch.where(first, cut, 0.0) * size, size - torch.where(first, 0.0, cut) * size
    else:
        band = (d.uniform(0.0, 0.23) * d.chance(0.7))[:, None] * size
        across = torch.stack([d.chance(0.5), torch.zeros(d.n, dtype=torch.bool, device=d.device)], dim=1)
        across[:, 1] = ~across[:, 0]
        low, high = torch.where(across, band, 0.0), size - torch.where(across, band, 0.0)
    x_in = (line[None] > low[:, :1]) & (line[None] < high[:, :1])
    y_in = (line[None] > low[:, 1:]) & (line[None] < high[:, 1:])
    mask = (y_in[:, :, None] & x_in[:, None, :])[:, None]
    inside = ((truth.points > low[:, None]) & (truth.points < high[:, None])).all(dim=-1)
    return torch.where(mask, picture, torch.tensor(FILL, dtype=picture.dtype, device=d.device)), replace(
        truth, visibility=truth.visibility * inside
    )


def moved(picture: Tensor, truth: Truth, *, mirror: bool, quarters: int) -> tuple[Tensor, Truth]:
    """The pictures mirrored left to right, then turned by so many quarters counter-clockwise, with their truth."""
    size = picture.shape[-1]
    points, up = truth.points, truth.up
    if mirror:
        picture = picture.flip(3)
        points = torch.stack([size - points[..., 0], points[..., 1]], dim=-1)
        up = torch.stack([-up[:, 0], up[:, 1]], dim=-1)
    for _ in range(quarters % 4):
        points = torch.stack([points[..., 1], size - points[..., 0]], dim=-1)
        up = torch.stack([up[:, 1], -up[:, 0]], dim=-1)
    picture = torch.rot90(picture, quarters, (2, 3)) if quarters % 4 else picture
    return picture, replace(truth, points=points, up=up)


def chosen(truth: Truth, index: Tensor | slice) -> Truth:
    """The truth of some of the pictures."""
    return Truth(**{f.name: getattr(truth, f.name)[index] for f in fields(truth)})


def joined(truths: list[Truth]) -> Truth:
    """Several truths as one."""
    return Truth(**{f.name: torch.cat([getattr(t, f.name) for t in truths]) for f in fields(Truth)})


def photos(rgba: Tensor, truth: Truth, seed: int, *, close: bool, borders: bool = True,
           behind: Tensor | None = None) -> tuple[Tensor, Truth]:  # fmt: skip
    """Display values (n, 3, h, w; 0 to 255) of renders (n, 4, h, w; linear light and cover), with their truth.

    `behind` (n, 3, h, w) is what stands behind the scenes; without it backgrounds are made.
    """
    d, kind, size = Draws(len(rgba), seed, rgba.device), working(rgba.device), rgba.shape[-1]
    rgba = rgba.to(kind)
    colour, cover = rgba[:, :3], rgba[:, 3:]
    coarse = nn.avg_pool2d((colour * cover).mean(dim=1, keepdim=True), 8).float().mean((1, 2, 3), keepdim=True)
    mean = coarse / nn.avg_pool2d(cover, 8).float().mean((1, 2, 3), keepdim=True).clamp_min(1e-4)
    exposure = torch.where(d.chance(0.25), d.log_uniform(0.015, 0.08), d.log_uniform(0.08, 0.42)).view(
        -1, 1, 1, 1
    ) / mean.clamp_min(0.004)
    exposure = torch.where(d.chance(0.5).view(-1, 1, 1, 1), exposure, exposure.clamp(0.7, 1.8)).to(kind)
    behind = background(d, size).to(kind) if behind is None else behind
    picture = colour * (cover * exposure) + behind * (1 - cover)
    picture, truth = _in_front(picture, truth, seed)
    tint = (1 + d.normal(0, 0.09, 3, 1, 1)).to(kind)
    picture = (picture * tint + d.uniform(0, 0.02, 1, 1, 1).to(kind)).clamp(0, 1)
    picture = picture ** (1 / d.normal(2.2, 0.25)).view(-1, 1, 1, 1).to(kind)
    wash = torch.where(d.chance(0.06), 1.0, d.uniform(-0.3, 0.5)).view(-1, 1, 1, 1).to(kind)
    picture = (picture + wash * (picture.mean(dim=1, keepdim=True) - picture)) * 255
    picture = _blurred(d, picture)
    if d.n >= 8:  # a few of low resolution
        k = d.n // 6
        small = int(size * (0.3 + 0.5 * ((seed // 16) % 101) / 100))
        picture[-k:] = resized(nn.interpolate(picture[-k:], size=(small, small), mode="area"), size)
    noise = torch.where(d.chance(0.75), d.uniform(0, 6), d.uniform(0, 16)).view(-1, 1, 1, 1)
    fine = torch.randn(picture.shape, generator=d.generator, device=d.device, dtype=kind)
    picture = _compressed(d, picture + noise.to(kind) * fine).clamp(0, 255)
    return _bordered(d, picture, truth, close) if borders else (picture, truth)
