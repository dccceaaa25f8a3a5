"""From renders to photos: backgrounds, things in front, exposure, tint, blur, noise, JPEG, borders, mirror and turns."""

from dataclasses import fields, replace

import torch
import torch.nn.functional as nn
from torch import Tensor

from vision.training.rng import Draws
from vision.training.scenes import Truth

#: Fill of what lies outside the photo, display value; the detector fills with the same.
FILL = 114.0


def _resized(x: Tensor, size: int) -> Tensor:
    return nn.interpolate(x, size=(size, size), mode="bilinear", align_corners=False)


def background(d: Draws, size: int) -> Tensor:
    """(n, 3, size, size) linear light: colour, gradients, noise of several scales, rectangles, stripes."""
    n, dev = d.n, d.device
    out = d.log_uniform(0.02, 0.8).view(-1, 1, 1, 1) * d.uniform(0.5, 1.2, 3, 1, 1)
    for cells in (2, 4, 8, 16, 32, 64, 128):
        amount = (d.uniform(0, 0.35) * d.chance(0.6)).view(-1, 1, 1, 1)
        grey = d.normal(0, 1, 1, cells, cells)
        colour = d.normal(0, 0.5, 3, cells, cells)
        out = out * (1 + amount * _resized(grey + colour, size)).clamp(0.1, 3)
    line = torch.linspace(0, 1, size, device=dev)
    x, y = line.view(1, 1, size), line.view(1, size, 1)
    for _ in range(6):
        a, b = d.uniform(0, 1, 2), d.uniform(0.03, 0.7, 2)
        inside = ((x - a[:, 0].view(-1, 1, 1)).abs() < b[:, 0].view(-1, 1, 1) / 2) & (
            (y - a[:, 1].view(-1, 1, 1)).abs() < b[:, 1].view(-1, 1, 1) / 2
        )
        inside = inside & d.chance(0.35).view(-1, 1, 1)
        colour = d.uniform(0.02, 0.9, 3, 1, 1)
        out = torch.where(inside[:, None], colour * (0.6 + 0.4 * out / out.mean(dim=(2, 3), keepdim=True)), out)
    angle, rate = d.uniform(0, 3.14).view(-1, 1, 1), d.log_uniform(10, 120).view(-1, 1, 1)
    wave = torch.sin(rate * (x * angle.cos() + y * angle.sin()))
    stripes = (d.uniform(0, 0.5) * d.chance(0.2)).view(-1, 1, 1, 1)
    return (out * (1 + stripes * wave[:, None])).clamp(0.0, 4) + torch.zeros(n, 3, size, size, device=dev)


def _in_front(d: Draws, picture: Tensor, truth: Truth) -> tuple[Tensor, Truth]:
    size = picture.shape[-1]
    line = torch.arange(size, device=d.device) + 0.5
    visibility = truth.visibility
    for p in (0.1, 0.1):
        on = d.chance(p)
        centre, radii = d.uniform(0, size, 2), d.uniform(0.04 * size, 0.2 * size, 2)
        turn = d.uniform(0, 3.14)

        def cover(
            x: Tensor, y: Tensor, c: Tensor = centre, r: Tensor = radii, a: Tensor = turn, on: Tensor = on
        ) -> Tensor:
            shape = (-1, *[1] * (x.dim() - 1))
            dx, dy = x - c[:, 0].view(shape), y - c[:, 1].view(shape)
            ca, sa = a.cos().view(shape), a.sin().view(shape)
            inside = ((ca * dx + sa * dy) / r[:, 0].view(shape)) ** 2 + (
                (ca * dy - sa * dx) / r[:, 1].view(shape)
            ) ** 2 < 1
            return inside & on.view(shape)

        mask = cover(line.view(1, 1, -1).expand(d.n, size, size), line.view(1, -1, 1).expand(d.n, size, size))
        texture = 1 + 0.3 * _resized(d.normal(0, 1, 3, 6, 6), size)
        picture = torch.where(mask[:, None], d.uniform(0.03, 0.8, 3, 1, 1) * texture, picture)
        hidden = cover(truth.points[..., 0], truth.points[..., 1])
        visibility = torch.where(hidden & (visibility == 2), 1, visibility)
    return picture, replace(truth, visibility=visibility)


def _blurred(d: Draws, picture: Tensor) -> Tensor:
    n, c, h, w = picture.shape
    sigma = torch.where(d.chance(0.7), d.uniform(0.3, 0.8), d.log_uniform(0.6, 2.6)).view(-1, 1)
    taps = torch.arange(-6, 7, device=d.device).view(1, -1)
    kernel = torch.exp(-0.5 * (taps / sigma) ** 2)
    kernel = (kernel / kernel.sum(dim=1, keepdim=True)).repeat_interleave(c, 0)
    flat = nn.pad(picture.reshape(1, n * c, h, w), (6, 6, 6, 6), mode="replicate")
    flat = nn.conv2d(flat, kernel.view(-1, 1, 1, 13), groups=n * c)
    return nn.conv2d(flat, kernel.view(-1, 1, 13, 1), groups=n * c).view(n, c, h, w)


def _compressed(d: Draws, picture: Tensor) -> Tensor:
    """A JPEG-like loss on some pictures: 8 by 8 cosine blocks, coarser where frequencies are high."""
    k = torch.arange(8, device=d.device, dtype=torch.float32)
    basis = torch.cos((2 * k[None] + 1) * k[:, None] * torch.pi / 16) * 0.5
    basis[0] *= 2**-0.5
    n, c, h, w = picture.shape
    blocks = picture.view(n, c, h // 8, 8, w // 8, 8).permute(0, 1, 2, 4, 3, 5)
    step = (1 + k[None] + k[:, None]) * torch.where(d.chance(0.5), d.log_uniform(0.5, 9), 0.01).view(-1, 1, 1, 1, 1, 1)
    coefficients = basis @ blocks @ basis.T
    back = basis.T @ ((coefficients / step).round() * step) @ basis
    return back.permute(0, 1, 2, 4, 3, 5).reshape(n, c, h, w)


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
    return torch.where(mask, picture, FILL), replace(truth, visibility=truth.visibility * inside)


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


def photos(rgba: Tensor, truth: Truth, seed: int, *, close: bool, borders: bool = True) -> tuple[Tensor, Truth]:
    """Display values (n, 3, h, w; 0 to 255, float) of renders (n, 4, h, w; linear light and cover), with their truth."""
    d = Draws(len(rgba), seed, rgba.device)
    rgba = rgba.float()
    colour, cover = rgba[:, :3], rgba[:, 3:]
    mean = (colour.mean(dim=1, keepdim=True) * cover).sum((1, 2, 3), keepdim=True) / cover.sum(
        (1, 2, 3), keepdim=True
    ).clamp_min(1)
    exposure = d.log_uniform(0.08, 0.42).view(-1, 1, 1, 1) / mean.clamp_min(0.004)
    exposure = torch.where(d.chance(0.5).view(-1, 1, 1, 1), exposure, exposure.clamp(0.7, 1.8))
    picture = colour * cover * exposure + background(d, rgba.shape[-1]) * (1 - cover)
    picture, truth = _in_front(d, picture, truth)
    picture = picture * (1 + d.normal(0, 0.09, 3, 1, 1)) + d.uniform(0, 0.02, 1, 1, 1)
    picture = picture.clamp(0, 1) ** (1 / d.normal(2.2, 0.25).view(-1, 1, 1, 1))
    grey = picture.mean(dim=1, keepdim=True)
    wash = torch.where(d.chance(0.06), 1.0, d.uniform(-0.3, 0.5)).view(-1, 1, 1, 1)
    picture = (picture + wash * (grey - picture)) * 255
    picture = _blurred(d, picture)
    if d.n >= 8:  # a few of low resolution
        k = d.n // 6
        small = int(rgba.shape[-1] * (0.3 + 0.5 * torch.rand(1).item()))
        picture[:k] = _resized(nn.interpolate(picture[:k], size=(small, small), mode="area"), rgba.shape[-1])
    noise = torch.where(d.chance(0.75), d.uniform(0, 6), d.uniform(0, 16)).view(-1, 1, 1, 1)
    fine = d.normal(0, 1, 3, *picture.shape[2:])
    picture = picture + noise * fine
    picture = _compressed(d, picture).clamp(0, 255)
    return _bordered(d, picture, truth, close) if borders else (picture, truth)
