"""Sums over groups of pictures, as values, as JSON and as Markdown."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from scipy.stats import spearmanr

from vision.bench.columns import Column
from vision.bench.groups import GROUPINGS, sorted_groups
from vision.bench.renders import BenchPicture
from vision.bench.scoring import MEASURES, POINTS, Case, MeasureOutcome, PointOutcome, score

#: Fewer answers than this say nothing about a rank correlation.
_FEWEST_FOR_SPEARMAN = 8


@dataclass(frozen=True, kw_only=True)
class PointSummary:
    """Landmarks of a group: how many were asked for, the share found, errors in % of the face size (None: none)."""

    n_asked: int
    found: float | None
    median_percent: float | None
    p90_percent: float | None


@dataclass(frozen=True, kw_only=True)
class MeasureSummary:
    """One measure of a group.

    Parameters
    ----------
    n, n_asked, n_answered : int
        Pictures with a truth, those of them inside the measure's domain, and those that were answered, inside or not.
    found : float or None
        Share of those asked that were answered.
    median_deg, p90_deg, bias_deg : float or None
        Of |error|, and the mean error, over all answers, inside the domain or not.
    coverage : float or None
        Share of the 95 % intervals that hold the truth.
    width_over_error : float or None
        Median half-width of the intervals over the median |error|.
    spearman : float or None
        Rank correlation of half-width and |error|; None below 8 answers or where one of them never changes.
    confidently_wrong : float or None
        Share of all n pictures with an interval that misses by more than 15 degrees.
    """

    n: int
    n_asked: int
    n_answered: int
    found: float | None
    median_deg: float | None
    p90_deg: float | None
    bias_deg: float | None
    coverage: float | None
    width_over_error: float | None
    spearman: float | None
    confidently_wrong: float | None


@dataclass(frozen=True, kw_only=True)
class Row:
    """One group of pictures in one column."""

    column: str
    grouping: str
    group: str
    n: int
    points: PointSummary
    by_point: Mapping[str, PointSummary]
    measures: Mapping[str, MeasureSummary]


@dataclass(frozen=True, kw_only=True)
class BenchResult:
    """Every row, with what was run: seed, number of pictures, date."""

    seed: int
    n: int
    date: str
    rows: tuple[Row, ...]


def run_bench(
    pictures: Sequence[BenchPicture], columns: Sequence[Column], said: Callable[[str], object] = lambda _: None
) -> dict[str, tuple[Case, ...]]:
    """Every column's case for every picture; `said` hears of the progress."""
    cases: dict[str, list[Case]] = {column.name: [] for column in columns}
    for number, picture in enumerate(pictures, start=1):
        for column in columns:
            cases[column.name].append(score(picture, column.answer(picture)))
        if number % 50 == 0:
            said(f"{number} of {len(pictures)} pictures asked")
    return {name: tuple(found) for name, found in cases.items()}


def summarise(cases: Mapping[str, Sequence[Case]]) -> tuple[Row, ...]:
    """A row for each grouping, group and column, in this order."""
    rows = []
    for grouping, group_of in GROUPINGS.items():
        groups = {group_of(case.picture) for column in cases.values() for case in column}
        for group in sorted_groups(groups):
            for column, all_cases in cases.items():
                chosen = [case for case in all_cases if group_of(case.picture) == group]
                rows.append(_row(column, grouping, group, chosen))
    return tuple(rows)


def to_json(result: BenchResult) -> dict[str, Any]:
    """Plain numbers, texts and null."""
    return asdict(result)


def summarise_measure(outcomes: Sequence[MeasureOutcome]) -> MeasureSummary:
    """Sum up one measure over some pictures."""
    asked = [outcome for outcome in outcomes if outcome.asked]
    answered = [outcome for outcome in outcomes if outcome.error_deg is not None]
    errors = np.array([outcome.error_deg for outcome in answered], dtype=np.float64)
    widths = np.array([outcome.half_width_deg for outcome in answered], dtype=np.float64)
    median = _quantile(np.abs(errors), 0.5)
    return MeasureSummary(
        n=len(outcomes),
        n_asked=len(asked),
        n_answered=len(answered),
        found=_share([outcome.error_deg is not None for outcome in asked]),
        median_deg=median,
        p90_deg=_quantile(np.abs(errors), 0.9),
        bias_deg=float(errors.mean()) if len(errors) else None,
        coverage=_share([outcome.covered is True for outcome in answered]),
        width_over_error=float(np.median(widths)) / median if median else None,
        spearman=_rank_correlation(widths, np.abs(errors)),
        confidently_wrong=_share([outcome.confidently_wrong for outcome in outcomes]),
    )


def _row(column: str, grouping: str, group: str, cases: Sequence[Case]) -> Row:
    by_point = {name: [case.points[name] for case in cases if name in case.points] for name in POINTS}
    return Row(
        column=column,
        grouping=grouping,
        group=group,
        n=len(cases),
        points=_points([outcome for outcomes in by_point.values() for outcome in outcomes]),
        by_point={name: _points(outcomes) for name, outcomes in by_point.items()},
        measures={
            name: summarise_measure([case.measures[name] for case in cases if name in case.measures])
            for name in MEASURES
        },
    )


def _points(outcomes: Sequence[PointOutcome]) -> PointSummary:
    errors = np.array([outcome.error_percent for outcome in outcomes if outcome.error_percent is not None])
    return PointSummary(
        n_asked=len(outcomes),
        found=len(errors) / len(outcomes) if outcomes else None,
        median_percent=_quantile(errors, 0.5),
        p90_percent=_quantile(errors, 0.9),
    )


def _share(truths: Sequence[bool]) -> float | None:
    return sum(truths) / len(truths) if truths else None


def _quantile(values: np.ndarray[Any, np.dtype[Any]], q: float) -> float | None:
    return float(np.quantile(values, q)) if len(values) else None


def _rank_correlation(a: np.ndarray[Any, np.dtype[Any]], b: np.ndarray[Any, np.dtype[Any]]) -> float | None:
    if len(a) < _FEWEST_FOR_SPEARMAN or np.ptp(a) == 0 or np.ptp(b) == 0:
        return None
    return float(spearmanr(a, b).statistic)
