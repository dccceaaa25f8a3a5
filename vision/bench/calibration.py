"""By how much a detector's sigmas are too small or too large, learned on one half of the dolls, tried on the other.

For each landmark, over the coordinates x and y of those that were found and can be seen,

    factor = q₉₅(|found − true| / σ) / 1.96

so that 95 % of the coordinates lie within 1.96 factor · σ; the same for head yaw, and for a detector's own reading of
the gape where it counts and the picture is inside the gape's domain. A factor from fewer than 20 numbers is not given
and stays 1.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from vision.bench.groups import GROUPINGS, sorted_groups
from vision.bench.renders import BenchPicture
from vision.bench.scoring import MEASURES, Case, gape_asked, score
from vision.bench.tables import MeasureSummary, summarise_measure
from vision.landmarks import LandmarkSet, Point, Visibility
from vision.quantities.results import Z95

_FEWEST = 20
_COVERAGE = 0.95


@dataclass(frozen=True, kw_only=True)
class SigmaFactors:
    """What to multiply each landmark's, the yaw's and the gape reading's sigma with; what is not listed keeps its own."""

    points: Mapping[str, float]
    head_yaw: float = 1.0
    gape: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """Factors from one half of the dolls, and the other half's measures without and with them.

    Parameters
    ----------
    column : str
    n_learned, n_tried : int
        Pictures in the two halves; no doll is in both.
    factors : SigmaFactors
    before, after : mapping of measure to grouping to group to MeasureSummary
        Over the half that was not learned from; groupings "all", "yaw" and "skin tone".
    """

    column: str
    n_learned: int
    n_tried: int
    factors: SigmaFactors
    before: Mapping[str, Mapping[str, Mapping[str, MeasureSummary]]]
    after: Mapping[str, Mapping[str, Mapping[str, MeasureSummary]]]


def calibrate(pictures: Sequence[BenchPicture], answers: Sequence[LandmarkSet], column: str) -> Calibration:
    """Learn on dolls of even number, try on those of odd number."""
    pairs = list(zip(pictures, answers, strict=True))
    learned = [(picture, answer) for picture, answer in pairs if picture.doll % 2 == 0]
    tried = [(picture, answer) for picture, answer in pairs if picture.doll % 2 == 1]
    factors = sigma_factors(learned)
    return Calibration(
        column=column,
        n_learned=len(learned),
        n_tried=len(tried),
        factors=factors,
        before=_by_group([score(picture, answer) for picture, answer in tried]),
        after=_by_group([score(picture, with_sigma_factors(answer, factors)) for picture, answer in tried]),
    )


def sigma_factors(pairs: Sequence[tuple[BenchPicture, LandmarkSet]]) -> SigmaFactors:
    """Factors as the module says, from pictures and their answers."""
    ratios: dict[str, list[float]] = {}
    yaw: list[float] = []
    gape: list[float] = []
    for picture, answer in pairs:
        for name, found in answer.points.items():
            truth = picture.truth.get(name)
            if truth is not None and truth.visibility == Visibility.SEEN and found.sigma is not None:
                ratios.setdefault(name, []).extend(
                    (abs(found.x - truth.x) / found.sigma, abs(found.y - truth.y) / found.sigma)
                )
        if answer.head_yaw is not None:
            yaw.append(abs(answer.head_yaw.deg - picture.head_yaw_deg) / answer.head_yaw.sigma_deg)
        read = answer.counting_gape
        if read is not None and picture.gape_deg is not None and gape_asked(picture):
            gape.append(abs(read.deg - picture.gape_deg) / read.sigma_deg)
    return SigmaFactors(
        points={name: _factor(values) for name, values in sorted(ratios.items()) if len(values) >= _FEWEST},
        head_yaw=_factor(yaw) if len(yaw) >= _FEWEST else 1.0,
        gape=_factor(gape) if len(gape) >= _FEWEST else 1.0,
    )


def with_sigma_factors(landmarks: LandmarkSet, factors: SigmaFactors) -> LandmarkSet:
    """The same landmarks with their sigmas multiplied."""
    yaw, gape = landmarks.head_yaw, landmarks.gape
    return replace(
        landmarks,
        points={name: _scaled(point, factors.points.get(name, 1.0)) for name, point in landmarks.points.items()},
        head_yaw=None if yaw is None else replace(yaw, sigma_deg=yaw.sigma_deg * factors.head_yaw),
        gape=None if gape is None else replace(gape, sigma_deg=gape.sigma_deg * factors.gape),
    )


def _scaled(point: Point, factor: float) -> Point:
    return point if point.sigma is None else replace(point, sigma=point.sigma * factor)


def _factor(ratios: Sequence[float]) -> float:
    """At least a hundredth: a sigma must stay above 0."""
    return max(0.01, float(np.quantile(ratios, _COVERAGE)) / Z95)


def _by_group(cases: Sequence[Case]) -> dict[str, dict[str, dict[str, MeasureSummary]]]:
    found: dict[str, dict[str, dict[str, MeasureSummary]]] = {}
    for measure in MEASURES:
        for grouping in ("all", "yaw", "skin tone"):
            group_of = GROUPINGS[grouping]
            for group in sorted_groups({group_of(case.picture) for case in cases}):
                outcomes = [
                    case.measures[measure]
                    for case in cases
                    if measure in case.measures and group_of(case.picture) == group
                ]
                found.setdefault(measure, {}).setdefault(grouping, {})[group] = summarise_measure(outcomes)
    return found
