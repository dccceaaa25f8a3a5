"""Random draws for a whole batch at once, on the device where the pictures are made."""

from collections.abc import Sequence

import torch
from torch import Tensor


class Draws:
    """Draws for `n` scenes; the same seed, device and order of calls give the same numbers."""

    def __init__(self, n: int, seed: int, device: torch.device) -> None:
        self.n, self.device = n, device
        self.generator = torch.Generator(device=device).manual_seed(seed)

    def uniform(self, low: float, high: float, *shape: int) -> Tensor:
        """(n, *shape) between low and high."""
        return low + (high - low) * torch.rand(self.n, *shape, generator=self.generator, device=self.device)

    def log_uniform(self, low: float, high: float) -> Tensor:
        """(n,) with an even logarithm."""
        return torch.exp(self.uniform(float(torch.tensor(low).log()), float(torch.tensor(high).log())))

    def normal(self, mean: float, sd: float, *shape: int, cut: float = 2.5) -> Tensor:
        """(n, *shape), cut off at so many standard deviations."""
        z = torch.randn(self.n, *shape, generator=self.generator, device=self.device)
        return mean + sd * z.clamp(-cut, cut)

    def chance(self, p: float) -> Tensor:
        """(n,) booleans."""
        return self.uniform(0, 1) < p

    def whole(self, high: int, *shape: int) -> Tensor:
        """(n, *shape) integers from 0 to high - 1."""
        return torch.randint(high, (self.n, *shape), generator=self.generator, device=self.device)

    def pick(self, values: Sequence[float]) -> Tensor:
        """(n,) one of the values each."""
        return torch.tensor(values, device=self.device, dtype=torch.float32)[self.whole(len(values))]

    def bits(self) -> int:
        """A fresh seed."""
        return int(torch.randint(2**31 - 1, (1,), generator=self.generator, device=self.device).item())


def rotation(axis: str, deg: Tensor) -> Tensor:
    """(n, 3, 3) right-handed turns about x, y or z."""
    a = torch.deg2rad(deg)
    c, s, one, zero = a.cos(), a.sin(), torch.ones_like(a), torch.zeros_like(a)
    rows = {
        "x": (one, zero, zero, zero, c, -s, zero, s, c),
        "y": (c, zero, s, zero, one, zero, -s, zero, c),
        "z": (c, -s, zero, s, c, zero, zero, zero, one),
    }[axis]
    return torch.stack(rows, dim=-1).view(*deg.shape, 3, 3)


def unit(v: Tensor) -> Tensor:
    """Vectors at length 1, along the last axis."""
    return v / v.norm(dim=-1, keepdim=True).clamp_min(1e-9)


def arc(a: Tensor, b: Tensor) -> Tensor:
    """(n, 3, 3) smallest turns that take directions a (n, 3) to directions b (n, 3)."""
    a, b = unit(a), unit(b)
    v, c = torch.linalg.cross(a, b), (a * b).sum(-1).clamp_min(-0.999)
    zero = torch.zeros_like(c)
    k = torch.stack([zero, -v[:, 2], v[:, 1], v[:, 2], zero, -v[:, 0], -v[:, 1], v[:, 0], zero], dim=-1).view(-1, 3, 3)
    return torch.eye(3, device=a.device) + k + k @ k / (1 + c).view(-1, 1, 1)


def vec(*parts: Tensor | float, like: Tensor) -> Tensor:
    """(n, 3) of tensors (n,) and numbers."""
    return torch.stack([p if isinstance(p, Tensor) else torch.full_like(like, p) for p in parts], dim=-1)
