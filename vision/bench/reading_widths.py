"""How wide the intervals of the gape and the head's yaw that the network reads must be, learned on the dolls of even number.

A standard deviation of the gape is √((scale · 10 · (spread / 10)^power)² + floor²) degrees, `spread` being what the network
says. Of all scales, powers and floors on a grid that hold at least 93 % of the learned dolls' gapes, and at least 88 % of
each group of yaw or skin tone with 20 of them, that one is taken whose intervals are narrowest in the middle. The yaw's factor
makes 95 % of the errors lie within 1.96 standard deviations.

    python -m vision.bench.reading_widths [--n 500] [--seed 20]

prints both for the weights that are there, from pictures that the bench has rendered, and writes nothing: what fits these
dolls is too narrow for harder pictures (`vision/models/CARD.md`), so it tells how narrow intervals could be, no more.
"""

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from vision.bench.groups import GROUPINGS
from vision.bench.renders import DEFAULT_N, DEFAULT_SEED, BenchPicture, cache_folder, load_pictures
from vision.measures import Measure, measure_all
from vision.profile_net import ProfileDetector
from vision.quantities.results import Z95

_LEAST_HELD, _LEAST_HELD_IN_A_GROUP, _FEWEST = 0.93, 0.88, 20
_POWERS, _FLOORS, _SCALES = np.arange(0.5, 1.55, 0.1), (0.0, 2.0, 3.0, 4.0), np.geomspace(0.3, 2.0, 60)


@dataclass(frozen=True, kw_only=True)
class GapeRead:
    """One gape as the network read it, degrees, with its truth and the groups of its picture."""

    deg: float
    spread_deg: float
    true_deg: float
    groups: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class GapeWidths:
    """The numbers of the formula above."""

    scale: float
    power: float
    floor: float

    def sigma_deg(self, spread_deg: NDArray[np.float64]) -> NDArray[np.float64]:
        """Standard deviations for these spreads."""
        return np.hypot(self.scale * 10 * (spread_deg / 10) ** self.power, self.floor)


def fitted(reads: Sequence[GapeRead]) -> GapeWidths | None:
    """The narrowest that hold as the module says; None where none on the grid does."""
    deg, spread, true = (
        np.array([getattr(read, name) for read in reads]) for name in ("deg", "spread_deg", "true_deg")
    )
    names = {group for read in reads for group in read.groups}
    members = [np.array([name in read.groups for read in reads]) for name in sorted(names)]
    groups = [chosen for chosen in members if chosen.sum() >= _FEWEST]
    best: tuple[float, GapeWidths] | None = None
    for power, floor in product(_POWERS, _FLOORS):
        for scale in _SCALES:
            widths = GapeWidths(scale=float(scale), power=float(power), floor=floor)
            low, high = (np.clip(deg + end * Z95 * widths.sigma_deg(spread), 0, 180) for end in (-1, 1))
            held = (low <= true) & (true <= high)
            if held.mean() >= _LEAST_HELD and all(held[group].mean() >= _LEAST_HELD_IN_A_GROUP for group in groups):
                middle = float(np.median(high - low))
                best = (middle, widths) if best is None or middle < best[0] else best
                break
    return None if best is None else best[1]


def read_dolls(
    detector: ProfileDetector, pictures: Sequence[BenchPicture]
) -> Iterator[tuple[BenchPicture, GapeRead | None, float | None]]:
    """Each picture with its gape as read, and the yaw's error over the spread that the network says; None where silent."""
    for picture in pictures:
        pixels = picture.pixels()
        found = detector.read(pixels, None)
        if found is None:
            yield picture, None, None
            continue
        answer = detector.proposed(found, pixels.shape[1], pixels.shape[0]).landmarks
        off = abs(found.yaw_deg - picture.head_yaw_deg) / float(np.hypot(found.yaw_b, found.yaw_spread))
        told = answer.counting_gape is not None and isinstance(measure_all(answer)["gape_angle"], Measure)
        gape = None
        if told and picture.gape_deg is not None:
            groups = tuple(f"{name} {GROUPINGS[name](picture)}" for name in ("yaw", "skin tone"))
            spread = float(np.hypot(found.gape_b, found.gape_spread))
            gape = GapeRead(deg=found.gape_deg, spread_deg=spread, true_deg=picture.gape_deg, groups=groups)
        yield picture, gape, off


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m vision.bench.reading_widths", description="Learn interval widths.")
    parser.add_argument("--n", type=int, default=DEFAULT_N)
    parser.add_argument("--seed", type=int, default=DEFAULT_SEED)
    options = parser.parse_args()
    pictures = load_pictures(cache_folder(None, options.seed), options.n)
    learned = list(read_dolls(ProfileDetector(), [p for p in pictures if p.doll % 2 == 0]))
    widths = fitted([gape for _, gape, _ in learned if gape is not None])
    if widths is None:
        parser.error(f"no widths hold the gapes of the {len(learned)} pictures")
    off = [value for _, _, value in learned if value is not None]
    facts = {
        "yaw": round(float(np.quantile(off, 0.95)) / Z95, 3),
        "gape": round(widths.scale, 3), "gape_power": round(widths.power, 2), "gape_floor": widths.floor,
    }  # fmt: skip
    sys.stdout.write(json.dumps(facts) + "\n")


if __name__ == "__main__":
    main()
