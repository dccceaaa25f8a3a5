"""A picture for each grouping: found, landmark error, and for both measures error and coverage, by group and column."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from vision.bench.groups import GROUPINGS
from vision.bench.markdown import COLUMN_WORDS, MEASURE_WORDS
from vision.bench.tables import BenchResult, Row
from vision.errors import CannotDo

#: Okabe and Ito's colours, told apart by colour-blind readers; each column also has its own mark.
_STYLES = {"ours": ("#0072B2", "o"), "plain": ("#D55E00", "s"), "clicks": ("#009E73", "^"), "general": ("#E69F00", "D")}
_OTHER = ("#555555", "D")
_APART = 0.16
#: An axis reaches at least this far, so that nothing looks like much.
_LOWEST_TOP = 5.0

Value = Callable[[Row], float | None]


def draw_plots(result: BenchResult, folder: Path) -> tuple[Path, ...]:
    """Write one PNG a grouping and return their paths.

    Raises
    ------
    CannotDo
        Where the folder cannot be written to.
    """
    import matplotlib  # late: only plots need it; mediapipe brings it

    matplotlib.use("Agg")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return tuple(_plot(result, name, folder / f"bench-{name.replace(' ', '-')}.png") for name in GROUPINGS)
    except OSError as fault:
        raise CannotDo(f"The plots cannot be written to {folder}: {fault.strerror or fault}.") from fault


def _plot(result: BenchResult, grouping: str, path: Path) -> Path:
    from matplotlib.figure import Figure

    rows = [row for row in result.rows if row.grouping == grouping]
    figure = Figure(figsize=(13, 7.2), layout="constrained")
    axes = figure.subplots(2, 4)
    _dots(axes[0, 0], rows, "landmarks found, %", lambda row: _hundred(row.points.found), top=100)
    _dots(axes[1, 0], rows, "landmark error, % of face size\nmedian, whisker to 90th", _point_error, _point_p90)
    for place, (measure, words) in enumerate(MEASURE_WORDS.items()):
        _measure_plots(axes[:, 1 + place], rows, measure, words)
    for place, (measure, words) in enumerate(MEASURE_WORDS.items()):
        _dots(
            axes[place, 3],
            rows,
            f"{words}: confidently wrong, % of pictures",
            _wrong(measure),
        )
    handles, labels = axes[0, 0].get_legend_handles_labels()
    words_of = [COLUMN_WORDS.get(label, label) for label in labels]
    figure.legend(handles, words_of, loc="outside lower center", ncols=3, frameon=False)
    title = "all pictures" if grouping == "all" else f"by {grouping}"
    figure.suptitle(f"{result.n} rendered pictures, {title} (seed {result.seed}, {result.date})", fontsize=12)
    figure.savefig(path, dpi=110)
    return path


def _measure_plots(axes: Any, rows: Sequence[Row], measure: str, words: str) -> None:
    _dots(
        axes[0],
        rows,
        f"{words}: |error|, degrees\nmedian, whisker to 90th",
        lambda row: row.measures[measure].median_deg,
        lambda row: row.measures[measure].p90_deg,
    )
    _dots(
        axes[1],
        rows,
        f"{words}: found (open) and\n95 % intervals that hold (full), %",
        lambda row: _hundred(row.measures[measure].coverage),
        top=100,
    )
    _dots(axes[1], rows, None, lambda row: _hundred(row.measures[measure].found), hollow=True, top=100)
    axes[1].axhline(95, color="#999999", linewidth=0.8, zorder=0)


def _dots(
    axis: Any,
    rows: Sequence[Row],
    title: str | None,
    value: Value,
    whisker: Value | None = None,
    *,
    hollow: bool = False,
    top: float | None = None,
) -> None:
    """One dot a group and column, with a whisker upwards; what is unknown is left out."""
    groups = list(dict.fromkeys(row.group for row in rows))
    columns = list(dict.fromkeys(row.column for row in rows))
    for number, column in enumerate(columns):
        shift = (number - (len(columns) - 1) / 2) * _APART
        known = [
            (groups.index(row.group) + shift, row) for row in rows if row.column == column and value(row) is not None
        ]
        xs, ys = [x for x, _ in known], [value(row) or 0.0 for _, row in known]
        colour, mark = _STYLES.get(column, _OTHER)
        if whisker is not None:
            axis.vlines(xs, ys, [whisker(row) or 0.0 for _, row in known], color=colour, linewidth=1.2)
        face = "white" if hollow else colour
        axis.plot(xs, ys, mark, color=colour, markerfacecolor=face, markersize=5.5, label=column, linestyle="none")
    axis.set_xticks(range(len(groups)), groups, rotation=0 if len(groups) < 4 else 35, fontsize=8)
    axis.set_xlim(-0.6, len(groups) - 0.4)
    lowest_top = _LOWEST_TOP if top is None else top * 1.04
    axis.set_ylim(bottom=0, top=max(lowest_top, axis.get_ylim()[1]) if top is None else lowest_top)
    axis.tick_params(axis="y", labelsize=8)
    axis.grid(axis="y", color="#e5e5e5", linewidth=0.6)
    axis.set_axisbelow(True)
    if title is not None:
        axis.set_title(title, fontsize=9)


def _hundred(share: float | None) -> float | None:
    return None if share is None else 100 * share


def _wrong(measure: str) -> Value:
    return lambda row: _hundred(row.measures[measure].confidently_wrong)


def _point_error(row: Row) -> float | None:
    return row.points.median_percent


def _point_p90(row: Row) -> float | None:
    return row.points.p90_percent
