"""The bench's result as tables in Markdown, for a terminal and for the README."""

from collections.abc import Callable, Sequence

from vision.bench.calibration import Calibration
from vision.bench.groups import GROUPINGS
from vision.bench.tables import BenchResult, MeasureSummary, Row

#: Column name -> what the reader is told.
COLUMN_WORDS = {
    "ours": "this version's detector",
    "plain": "MediaPipe as it comes, one pass",
    "general": "this version's detector without the side-view network",
    "clicks": "a person's clicks (simulated on the true points)",
}
MEASURE_WORDS = {"gape_angle": "gape", "alignment_angle": "body line"}

_HEAD = (
    "pictures", "found", "error, median", "90th", "bias", "intervals hold", "width / error", "ρ(width, error)",
    "confidently wrong",
)  # fmt: skip


def as_markdown(result: BenchResult, *, every_grouping: bool = True) -> str:
    """The whole result, or only the rows over all pictures with the landmarks one by one."""
    lines = [
        f"{result.n} rendered pictures, {result.date}: `python -m vision bench --n {result.n} --seed {result.seed}`.",
        "Found: share of the pictures inside the measure's domain. Confidently wrong: an interval that misses by more "
        "than 15°, share of all pictures.",
    ]
    columns = list(dict.fromkeys(row.column for row in result.rows))
    for measure, words in MEASURE_WORDS.items():
        lines += ["", f"**{words.capitalize()}**, all pictures", "", *_measure_table(result.rows, "all", measure)]
    lines += ["", "**Landmarks** that can be seen: found, and error in % of the face size (median / 90th)", ""]
    lines += _point_table(result.rows, columns)
    if every_grouping:
        for grouping in (name for name in GROUPINGS if name != "all"):
            for measure, words in MEASURE_WORDS.items():
                title = f"**{words.capitalize()} by {grouping}**"
                lines += ["", title, "", *_measure_table(result.rows, grouping, measure)]
            lines += ["", f"**Landmarks by {grouping}**", "", *_group_points(result.rows, grouping, columns)]
    notes = [f"{name}: {COLUMN_WORDS[name]}" for name in columns if name in COLUMN_WORDS]
    return "\n".join([*lines, "", "; ".join(notes) + "." if notes else ""]).rstrip() + "\n"


def calibration_as_markdown(found: Calibration) -> str:
    """What the factors are, and the half that they were not learned from without and with them, by group."""
    factors = [
        *(f"{name} {factor:.2f}" for name, factor in found.factors.points.items()),
        f"head yaw {found.factors.head_yaw:.2f}",
        f"gape reading {found.factors.gape:.2f}",
    ]
    lines = [
        f"**Calibration of {found.column}**: factors for sigma from {found.n_learned} pictures, tried on the "
        f"{found.n_tried} of the other dolls: {', '.join(factors)}.",
    ]
    for measure, words in MEASURE_WORDS.items():
        body = [
            [grouping if grouping == "all" else f"{grouping} {group}", *_calibration_cells(summary, after)]
            for grouping, groups in found.before[measure].items()
            for group, summary in groups.items()
            for after in (found.after[measure][grouping][group],)
        ]
        lines += ["", f"**{words.capitalize()}**, as it comes → with the factors", "", *_table(_CALIBRATION_HEAD, body)]
    return "\n".join(lines) + "\n"


_CALIBRATION_HEAD = (
    "group", "answers", "found", "error, median", "intervals hold", "width / error", "ρ(width, error)",
    "confidently wrong",
)  # fmt: skip


def _calibration_cells(before: MeasureSummary, after: MeasureSummary) -> list[str]:
    def both(show: Callable[[MeasureSummary], str]) -> str:
        return f"{show(before)} → {show(after)}"

    return [
        f"{before.n_answered}",
        _percent(before.found),
        _number(before.median_deg, "°"),
        both(lambda summary: _percent(summary.coverage)),
        both(lambda summary: _number(summary.width_over_error)),
        both(lambda summary: _number(summary.spearman, digits=2)),
        both(lambda summary: _percent(summary.confidently_wrong, digits=1)),
    ]


def _measure_table(rows: Sequence[Row], grouping: str, measure: str) -> list[str]:
    first = ("column",) if grouping == "all" else (grouping, "column")
    body = [
        [*((row.column,) if grouping == "all" else (row.group, row.column)), *_measure_cells(row.measures[measure])]
        for row in rows
        if row.grouping == grouping and row.measures[measure].n
    ]
    return _table((*first, *_HEAD), body)


def _measure_cells(summary: MeasureSummary) -> list[str]:
    return [
        f"{summary.n}" if summary.n == summary.n_asked else f"{summary.n} ({summary.n_asked} asked)",
        _percent(summary.found),
        _number(summary.median_deg, "°"),
        _number(summary.p90_deg, "°"),
        _number(summary.bias_deg, "°", signed=True),
        _percent(summary.coverage),
        _number(summary.width_over_error),
        _number(summary.spearman, digits=2),
        _percent(summary.confidently_wrong, digits=1),
    ]


def _point_table(rows: Sequence[Row], columns: Sequence[str]) -> list[str]:
    whole = {row.column: row for row in rows if row.grouping == "all"}
    names = list(whole[columns[0]].by_point)
    body = [[name, *(_point_cell(whole[column], name) for column in columns)] for name in names]
    return _table(("landmark", *columns), body)


def _group_points(rows: Sequence[Row], grouping: str, columns: Sequence[str]) -> list[str]:
    cells = {(row.group, row.column): _point_cell(row, None) for row in rows if row.grouping == grouping}
    groups = list(dict.fromkeys(row.group for row in rows if row.grouping == grouping))
    return _table((grouping, *columns), [[group, *(cells[group, column] for column in columns)] for group in groups])


def _point_cell(row: Row, name: str | None) -> str:
    summary = row.points if name is None else row.by_point[name]
    if summary.median_percent is None:
        return f"{_percent(summary.found)}"
    return f"{_percent(summary.found)}, {_number(summary.median_percent)} / {_number(summary.p90_percent)}"


def _table(head: Sequence[str], body: Sequence[Sequence[str]]) -> list[str]:
    return [_line(head), _line(["---"] * len(head)), *(_line(row) for row in body)]


def _line(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _percent(share: float | None, digits: int = 0) -> str:
    return "–" if share is None else f"{100 * share:.{digits}f} %"


def _number(value: float | None, unit: str = "", *, digits: int = 1, signed: bool = False) -> str:
    if value is None:
        return "–"
    return f"{value:{'+' if signed else ''}.{digits}f}{unit}"
