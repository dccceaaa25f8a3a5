"""Interval widths learned from readings of known spread."""

import numpy as np
import pytest

from vision.bench.reading_widths import GapeRead, GapeWidths, fitted
from vision.profile_net import Calibration


def drawn(scale: float, power: float, n: int = 4000, seed: int = 5) -> list[GapeRead]:
    """Readings around 90° whose errors have the standard deviation scale · 10 · (spread / 10)^power."""
    rng = np.random.default_rng(seed)
    spread = np.exp(rng.uniform(np.log(3), np.log(30), n))
    off = rng.normal(0, scale * 10 * (spread / 10) ** power)
    return [
        GapeRead(deg=90.0 + float(o), spread_deg=float(s), true_deg=90.0, groups=(f"tone {i % 4}",))
        for i, (o, s) in enumerate(zip(off, spread, strict=True))
    ]


@pytest.mark.parametrize("scale", [0.5, 0.8])
def test_widths_learned_on_some_readings_hold_others_of_the_same_kind(scale: float) -> None:
    widths = fitted(drawn(scale, 1.0))
    assert widths is not None
    others = drawn(scale, 1.0, seed=6)
    sigma = widths.sigma_deg(np.array([read.spread_deg for read in others]))
    held = np.abs([read.deg - read.true_deg for read in others]) <= 1.96 * sigma
    assert 0.91 <= held.mean() <= 0.97


def test_a_group_whose_errors_are_larger_widens_all_intervals() -> None:
    same = drawn(0.4, 1.0, n=800)
    odd = [
        GapeRead(deg=90 + 2 * (read.deg - 90), spread_deg=read.spread_deg, true_deg=90.0, groups=("tone 9",))
        for read in same[:40]
    ]
    plain, widened = fitted(same), fitted([*same, *odd])
    assert plain is not None
    assert widened is not None
    at = np.array([10.0])
    assert widened.sigma_deg(at)[0] > 1.1 * plain.sigma_deg(at)[0]


def test_readings_that_no_width_on_the_grid_holds_give_none() -> None:
    assert fitted([GapeRead(deg=170.0, spread_deg=0.1, true_deg=5.0, groups=())] * 30) is None


def test_the_calibration_file_means_the_same_formula() -> None:
    """10 · 0.5 · 2^1.5 = 14.142 at a spread of 20°; with a floor of 4: √(200 + 16)."""
    widths = GapeWidths(scale=0.5, power=1.5, floor=4.0)
    assert widths.sigma_deg(np.array([20.0]))[0] == pytest.approx(216**0.5)
    shipped = Calibration(seen={}, hidden={}, yaw=1.0, gape=0.5, gape_power=1.5, gape_floor=4.0)
    assert shipped.gape_sigma_deg(20.0) == pytest.approx(216**0.5)
