"""A list of solids for the tracer, built scene by scene in parallel."""

import torch
from torch import Tensor

from vision.training.rng import vec

HEAD, BODY, PROPS, ADULT, HOLDING, FRONT, FINGERS = range(7)
N_GROUPS = 7
(SKIN, LIP, CAVITY, HAIR, EYE, IRIS, CLOTH, CUFF, PILLOW, ADULT_SKIN, SLEEVE, ADULT_HAIR, ADULT_LIP, TONGUE, BLUSH,
 HAT) = range(16)  # fmt: skip
BREAST_SKIN, AREOLA, DRESS = 20, 21, 22
N_MATERIALS = 24


class Solids:
    """Collects solids; every argument is a tensor (n, ...) or a number."""

    def __init__(self, n: int, device: torch.device) -> None:
        self.n, self.device = n, device
        self._rows: list[Tensor] = []
        self._owners: list[int] = []

    def _scalar(self, value: Tensor | float) -> Tensor:
        return value if isinstance(value, Tensor) else torch.full((self.n,), float(value), device=self.device)

    def _add(
        self, kind: int, group: int, material: Tensor | float, blend: Tensor | float, a: Tensor, b: Tensor,
        ra: Tensor | float, rb: Tensor | float, *, soft: float = 0.03, hollow: bool = False, on: Tensor | None = None,
    ) -> None:  # fmt: skip
        row = torch.zeros(self.n, 16, device=self.device)
        row[:, 0], row[:, 1], row[:, 4], row[:, 13] = kind, group, float(hollow), soft
        row[:, 2], row[:, 3] = self._scalar(material), self._scalar(blend).clamp_min(1e-4)
        row[:, 5:8], row[:, 8:11], row[:, 11], row[:, 12] = a, b, self._scalar(ra), self._scalar(rb)
        row[:, 14], row[:, 15] = row[:, 12].cos(), row[:, 12].sin()
        if on is not None:
            row[~on, 0] = -1
        self._rows.append(row)
        self._owners.append(group)

    def ellipsoid(
        self, group: int, material: Tensor | float, centre: Tensor, radii: Tensor, *, blend: Tensor | float = 0.05,
        angle: Tensor | float = 0.0, soft: float = 0.03, hollow: bool = False, on: Tensor | None = None,
    ) -> None:  # fmt: skip
        """`angle` in radians about z."""
        self._add(0, group, material, blend, centre, radii.clamp_min(0.005), 0, angle, soft=soft, hollow=hollow, on=on)

    def ball(
        self, group: int, material: Tensor | float, centre: Tensor, radius: Tensor | float, *,
        blend: Tensor | float = 0.05, soft: float = 0.03, on: Tensor | None = None,
    ) -> None:  # fmt: skip
        """A round cone of no length."""
        self._add(1, group, material, blend, centre, centre, radius, radius, soft=soft, on=on)

    def cone(
        self, group: int, material: Tensor | float, a: Tensor, b: Tensor, ra: Tensor | float, rb: Tensor | float, *,
        blend: Tensor | float = 0.05, soft: float = 0.03, on: Tensor | None = None,
    ) -> None:  # fmt: skip
        """From a to b with the radius changing from ra to rb."""
        self._add(1, group, material, blend, a, b, ra, rb, soft=soft, on=on)

    def box(
        self, group: int, material: Tensor | float, centre: Tensor, half: Tensor, rounding: Tensor | float, *,
        angle: Tensor | float = 0.0, on: Tensor | None = None,
    ) -> None:  # fmt: skip
        """A box with round edges."""
        self._add(2, group, material, 0.01, centre, half, rounding, angle, on=on)

    def ring(
        self, group: int, material: Tensor | float, centre: Tensor, bend: Tensor, high: Tensor, wide: Tensor,
        tube: Tensor, *, angle: Tensor | float = 0.0, blend: Tensor | float = 0.02, on: Tensor | None = None,
    ) -> None:  # fmt: skip
        """A lip-like ring round the local x axis; `bend` brings its middle forward."""
        self._add(3, group, material, blend, centre, vec(bend, high, wide, like=bend), tube, angle, soft=0.015, on=on)

    def rows(self) -> tuple[Tensor, list[tuple[int, int]]]:
        """(n, m, 16), ordered by group, and each group's first and last + 1."""
        owners = self._owners
        ordered = [row for g in range(N_GROUPS) for row, owner in zip(self._rows, owners, strict=True) if owner == g]
        counts = [owners.count(g) for g in range(N_GROUPS)]
        starts = [sum(counts[:g]) for g in range(N_GROUPS)]
        return torch.stack(ordered, dim=1), [(a, a + c) for a, c in zip(starts, counts, strict=True)]
