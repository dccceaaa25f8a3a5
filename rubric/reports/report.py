"""A report as values: tables and sentences, from which CSV, XLSX and PDF are drawn with the same numbers."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import isfinite

from rubric.said import Said

Cell = str | float | None

NOT_A_DIAGNOSIS = Said(
    "Figures of an exercise with photos. They tell what was seen, measured and agreed, in these photos; they diagnose nothing and "
    "are no measure of a mother, a baby or a feed."
)

CAUTIONS = (
    Said("A photo is one instant: pain, swallowing, breathing and weight do not show in it. Ask, watch and listen."),
    Said("Never re-pose, delay or disturb a feed for a photo. Nose and face stay free; head and neck are supported."),
    Said(
        "Worried about a real baby or mother: stop, and get help now from a lactation professional, midwife or doctor. Local "
        "guidance and licensed practice come first."
    ),
    Said(
        "Degrees and their words are teaching conventions; no study with degrees was found. A deep attachment hides the "
        "corner of the mouth, so averages of the gape over-represent shallow ones."
    ),
)

#: What a spreadsheet takes in one cell.
_LONGEST_TEXT = 32_000


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column.

    Parameters
    ----------
    title : str
    unit : str
        Shown after the title: "%", "°".
    decimals : int or None
        For numbers; None for a column of text.
    """

    title: str
    unit: str = ""
    decimals: int | None = None

    @property
    def heading(self) -> str:
        """Title and unit.

        >>> Column(title="bias", unit="°", decimals=1).heading
        'bias (°)'
        """
        return f"{self.title} ({self.unit})" if self.unit else self.title


@dataclass(frozen=True, kw_only=True)
class ReportTable:
    """A table whose numbers are rounded once, here, so that no form of the report can show another one.

    Parameters
    ----------
    title : str
    columns : tuple of Column
    rows : tuple of tuple of Cell
        None for what is unknown. Numbers only in columns with decimals, text only in the others.
    note : str
        Said under the table.

    Raises
    ------
    ValueError
        For rows of another length, NaN or infinity, or a cell that is no text or number of its column.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        rounded = tuple(self._rounded(row) for row in self.rows)
        object.__setattr__(self, "rows", rounded)

    def _rounded(self, row: Sequence[Cell]) -> tuple[Cell, ...]:
        if len(row) != len(self.columns):
            raise ValueError(f"{self.title}: a row needs {len(self.columns)} cells, got {len(row)}")
        return tuple(_cell(cell, column, self.title) for cell, column in zip(row, self.columns, strict=True))


def _cell(cell: Cell, column: Column, where: str) -> Cell:
    if cell is None:
        return None
    if column.decimals is None:
        if not isinstance(cell, str) or len(cell) > _LONGEST_TEXT:
            raise ValueError(
                f"{where}, {column.title}: text of at most {_LONGEST_TEXT} characters, got {str(cell)[:40]!r}"
            )
        return cell
    if isinstance(cell, str) or not isfinite(cell):
        raise ValueError(f"{where}, {column.title}: a finite number or None, got {cell!r}")
    return round(float(cell), column.decimals) + 0.0  # + 0.0 turns -0.0 into 0.0


@dataclass(frozen=True, kw_only=True)
class Report:
    """All that one report says.

    Parameters
    ----------
    title, subtitle : str
    made_on : date
        Given by the caller, so that the same report is the same file.
    tables : tuple of ReportTable
    notes : tuple of str
        Sentences before the tables.
    """

    title: str
    subtitle: str
    made_on: date
    tables: tuple[ReportTable, ...]
    notes: tuple[str, ...] = ()
    non_diagnosis: str = NOT_A_DIAGNOSIS
    cautions: tuple[str, ...] = CAUTIONS


def cell_text(cell: Cell, column: Column) -> str:
    """How a cell reads on a page: a number with its decimals, "–" for what is unknown.

    >>> cell_text(-2.0, Column(title="bias", decimals=1)), cell_text(None, Column(title="bias", decimals=1))
    ('-2.0', '–')
    """
    if cell is None:
        return "–"
    return cell if isinstance(cell, str) else f"{cell:.{column.decimals or 0}f}"


def report_in(report: Report, say: Callable[[str], str]) -> Report:
    """The same report in another language, numbers untouched; texts that the language does not know stay as they are.

    Parameters
    ----------
    say : callable
        From a sentence in English (`rubric.said.Said`) to the reader's language.
    """
    return replace(
        report,
        title=say(report.title),
        subtitle=say(report.subtitle),
        tables=tuple(_table_in(table, say) for table in report.tables),
        notes=tuple(say(note) for note in report.notes),
        non_diagnosis=say(report.non_diagnosis),
        cautions=tuple(say(caution) for caution in report.cautions),
    )


def _table_in(table: ReportTable, say: Callable[[str], str]) -> ReportTable:
    return replace(
        table,
        title=say(table.title),
        columns=tuple(replace(column, title=say(column.title)) for column in table.columns),
        rows=tuple(tuple(say(cell) if isinstance(cell, str) and cell else cell for cell in row) for row in table.rows),
        note=say(table.note) if table.note else "",
    )
