"""The network: a depthwise-separable backbone with a feature pyramid, one map a landmark, and numbers for the head.

`finder` looks at whole pictures at any roll, `reader` at upright crops; both are this network in two widths. Layout of
the outputs (n, ...): see `OUTPUTS`.
"""

from dataclasses import dataclass

import torch
import torch.nn.functional as nn_f
from torch import Tensor, nn

from vision.training.anatomy import LANDMARKS

SIZE, CELLS = 256, 64
N = len(LANDMARKS)
#: Columns of the flat output: x, y of each landmark in pixels of the input, log spread, three visibility scores, spread
#: of its map in cells, then the numbers named in HEAD.
HEAD = (
    "yaw_sin", "yaw_cos", "yaw_log_b", "elevation", "elevation_log_b", "up_x", "up_y", "log2_face", "upper_depth",
    "lower_depth", "depth_log_b", "gape", "gape_log_b", "trunk_off", "trunk_log_b", "half_mouth",
)  # fmt: skip
OUTPUTS = 2 * N + N + 3 * N + N + len(HEAD)
WIDTHS = {"finder": (24, 32, 64, 96, 128), "reader": (24, 40, 80, 144, 192), "tiny": (8, 8, 16, 24, 32)}
_DEPTHS, _KERNELS = (2, 3, 4, 3), (3, 5, 5, 5)


class Block(nn.Module):
    """Depthwise, then two pointwise layers, added to the input."""

    def __init__(self, c: int, kernel: int) -> None:
        super().__init__()
        self.layers = nn.Sequential(
            nn.Conv2d(c, c, kernel, padding=kernel // 2, groups=c, bias=False), nn.BatchNorm2d(c), nn.Conv2d(c, 2 * c, 1),
            nn.ReLU(inplace=True), nn.Conv2d(2 * c, c, 1, bias=False), nn.BatchNorm2d(c),
        )  # fmt: skip

    def forward(self, x: Tensor) -> Tensor:
        """Same shape."""
        out: Tensor = x + self.layers(x)
        return out


def _down(a: int, b: int) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(a, a, 5, stride=2, padding=2, groups=a, bias=False), nn.BatchNorm2d(a), nn.Conv2d(a, b, 1, bias=False),
        nn.BatchNorm2d(b), nn.ReLU(inplace=True),
    )  # fmt: skip


@dataclass(frozen=True)
class Answer:
    """What the network says; `log_maps` (n, 12, 4096) is there in training only."""

    points: Tensor
    log_b: Tensor
    visibility: Tensor
    spread: Tensor
    head: Tensor
    log_maps: Tensor | None = None


class ProfileNet(nn.Module):
    """Input (n, 3, 256, 256): (display value - 127.5) / 64, red green blue."""

    def __init__(self, name: str) -> None:
        super().__init__()
        w = WIDTHS[name]
        self.stem = nn.Sequential(
            nn.Conv2d(3, w[0], 3, stride=2, padding=1, bias=False), nn.BatchNorm2d(w[0]), nn.ReLU(inplace=True)
        )
        self.stages = nn.ModuleList(
            nn.Sequential(_down(a, b), *[Block(b, kernel) for _ in range(k)])
            for a, b, k, kernel in zip(w, w[1:], _DEPTHS, _KERNELS, strict=False)
        )
        c = 64 if name != "tiny" else 16
        self.lateral = nn.ModuleList(nn.Conv2d(b, c, 1) for b in w[1:])
        self.mix = nn.ModuleList(
            nn.Sequential(
                nn.Conv2d(c, c, k, padding=k // 2, groups=c, bias=False),
                nn.BatchNorm2d(c),
                nn.Conv2d(c, c, 1),
                nn.ReLU(),
            )
            for k in _KERNELS[:3]
        )
        self.last = Block(c, 3)
        self.maps = nn.Conv2d(c, N, 1)
        known = N * c + w[4] + 3 * N
        self.numbers = nn.Sequential(
            nn.Linear(known, 176), nn.ReLU(), nn.Linear(176, 160), nn.ReLU(), nn.Linear(160, N + 3 * N + len(HEAD))
        )
        cell = (torch.arange(CELLS) + 0.5) / CELLS - 0.5
        y, x = torch.meshgrid(cell, cell, indexing="ij")
        grid = torch.stack([x.flatten(), y.flatten(), (x**2 + y**2).flatten()], dim=1)
        self.register_buffer("grid", grid, persistent=False)

    def features(self, x: Tensor) -> tuple[Tensor, Tensor]:
        """Map features (n, c, 64, 64) and what the whole picture says (n, w)."""
        x = self.stem(x)
        levels = []
        for stage in self.stages:
            x = stage(x)
            levels.append(x)
        top = self.lateral[3](levels[3])
        for i in (2, 1, 0):
            top = nn_f.interpolate(top, scale_factor=2.0, mode="nearest") + self.lateral[i](levels[i])
            top = self.mix[i](top)
        return self.last(top), x.mean(dim=(2, 3))

    def answer(self, x: Tensor) -> Answer:
        """All outputs apart."""
        top, whole = self.features(x)
        scores = self.maps(top).flatten(2).float()
        log_maps = torch.log_softmax(scores, dim=2)
        maps = torch.softmax(scores, dim=2)
        moments = maps @ self.grid
        centre, square = moments[..., :2], moments[..., 2]
        spread = torch.sqrt((square - (centre**2).sum(-1)).clamp(min=1e-7))
        local = top.flatten(2).float() @ maps.transpose(1, 2)
        known = torch.cat([local.flatten(1), whole.float(), centre.flatten(1), spread], dim=1)
        numbers = self.numbers(known).float()
        return Answer(
            points=(centre + 0.5) * SIZE, log_b=numbers[:, :N].clamp(-4, 6), visibility=numbers[:, N : 4 * N].view(-1, N, 3),
            spread=spread * CELLS, head=numbers[:, 4 * N :], log_maps=log_maps,
        )  # fmt: skip

    def forward(self, x: Tensor) -> Tensor:
        """The flat output (n, OUTPUTS); shapes are spelt out so that OpenCV takes any number of pictures."""
        top, whole = self.features(x)
        flat = top.reshape(-1, top.shape[1], CELLS * CELLS)
        maps = torch.softmax(self.maps(top).reshape(-1, N, CELLS * CELLS), dim=2)
        moments = torch.matmul(maps, self.grid)
        centre, square = moments[:, :, :2], moments[:, :, 2:]
        spread = torch.sqrt(torch.relu(square - (centre * centre).sum(2, keepdim=True)) + 1e-7).reshape(-1, N)
        local = torch.matmul(flat, maps.transpose(1, 2)).reshape(-1, N * flat.shape[1])
        points = centre.reshape(-1, 2 * N)
        numbers = self.numbers(torch.cat([local, whole, points, spread], dim=1))
        return torch.cat([(points + 0.5) * SIZE, numbers[:, : 4 * N], spread * CELLS, numbers[:, 4 * N :]], dim=1)
