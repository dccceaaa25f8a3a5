"""What stands behind the scenes: colour, gradients, noise, rectangles and stripes, kept in a store."""

import torch
import torch.nn.functional as nn
from torch import Tensor

from vision.training.rng import Draws


def resized(x: Tensor, size: int) -> Tensor:
    """Pictures (n, c, h, w) at another size."""
    return nn.interpolate(x, size=(size, size), mode="bilinear", align_corners=False)


def working(device: torch.device) -> torch.dtype:
    """What pictures are kept in while they are dressed: half precision is fine enough, and twice as fast on a GPU."""
    return torch.float16 if device.type == "cuda" else torch.float32


def background(d: Draws, size: int) -> Tensor:
    """(n, 3, size, size) linear light: colour, gradients, noise of several scales, rectangles, stripes."""
    n, dev = d.n, d.device
    out = d.log_uniform(0.02, 0.8).view(-1, 1, 1, 1) * d.uniform(0.5, 1.2, 3, 1, 1)
    for cells in (2, 4, 8, 16, 32, 64, 128):
        amount = (d.uniform(0, 0.35) * d.chance(0.6)).view(-1, 1, 1, 1)
        grey = d.normal(0, 1, 1, cells, cells)
        colour = d.normal(0, 0.5, 3, cells, cells)
        out = out * (1 + amount * resized(grey + colour, size)).clamp(0.1, 3)
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


class Backgrounds:
    """A store of backgrounds, a few of them made anew at each batch: each is seen many times, turned and mirrored."""

    def __init__(self, count: int, size: int, device: torch.device, *, fresh: int = 24) -> None:
        self._count, self._size, self._device, self._fresh, self._next = count, size, device, fresh, 0
        self._kept: Tensor | None = None

    def take(self, n: int, seed: int) -> Tensor:
        """(n, 3, size, size) linear light."""
        d = Draws(self._fresh, seed, self._device)
        if self._kept is None:
            part = min(64, self._count)
            made = [background(Draws(part, seed + i, self._device), self._size) for i in range(-(-self._count // part))]
            self._kept = torch.cat(made)[: self._count].to(working(self._device))
        at = (torch.arange(self._fresh, device=self._device) + self._next) % self._count
        self._kept[at] = background(d, self._size).to(self._kept.dtype)
        self._next = (self._next + self._fresh) % self._count
        chosen_ = self._kept[torch.randint(self._count, (n,), generator=d.generator, device=self._device)]
        turn = seed // 8 % 8
        chosen_ = chosen_.flip(3) if turn > 3 else chosen_
        return torch.rot90(chosen_, turn % 4, (2, 3)) * d.pick([0.5, 1.0, 1.0, 2.0])[:1].view(1, 1, 1, 1)
