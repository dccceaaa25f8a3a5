"""A report as CSV and as XLSX, with text that no spreadsheet program takes for a formula.

Rules of OWASP (CSV Injection; ASVS 5.0): text that begins with one of ``= + - @``, a tab, a line end or NUL, or holds a quote,
gets an apostrophe before it, and all text is quoted. Full-width forms of these signs count too, and so does white space before
them. Numbers are numbers, so negative ones stay what they are.

These files are for programs that read on, so they stay English, with points in their numbers, whoever asks for them; a report
for people, in their language, is the PDF.
"""

import csv
import io
import re

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from rubric.reports.report import Cell, Column, Report, ReportTable

_DANGEROUS = ("=", "+", "-", "@", "＝", "＋", "－", "＠")
_BEGINS_BADLY = ("\t", "\r", "\n", "\0", *_DANGEROUS)
#: What XML, and so XLSX, has no place for.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")

#: What a sheet's name may not hold, and how long it may be in UTF-16.
_NOT_IN_NAMES = re.compile(r"[\[\]:*?/\\']")
_LONGEST_NAME = 31


def safe_text(text: str) -> str:
    """The text as a cell that stays text; control characters become blanks, any line end a plain one.

    >>> safe_text("=1+1"), safe_text("chin"), safe_text(" @x"), safe_text('say "a"')
    ("'=1+1", 'chin', "' @x", '\\'say "a"')
    """
    clean = _CONTROL.sub(" ", text.replace("\r\n", "\n").replace("\r", "\n"))
    risky = text.startswith(_BEGINS_BADLY) or clean.lstrip().startswith(_DANGEROUS) or '"' in text
    return f"'{clean}" if risky else clean


def report_csv(report: Report) -> bytes:
    """UTF-8 with a byte order mark, comma-separated: sentences first, then each table under its title."""
    file = io.StringIO(newline="")
    writer = csv.writer(file, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    for line in _sentences(report):
        writer.writerow([safe_text(line)])
    for table in report.tables:
        writer.writerow([])
        writer.writerow([safe_text(table.title)])
        writer.writerow([safe_text(column.heading) for column in table.columns])
        for row in table.rows:
            writer.writerow([_csv_cell(cell, column) for cell, column in zip(row, table.columns, strict=True)])
        if table.note:
            writer.writerow([safe_text(table.note)])
    return file.getvalue().encode("utf-8-sig")


def _csv_cell(cell: Cell, column: Column) -> "str | _Written":
    if cell is None:
        return ""
    return safe_text(cell) if isinstance(cell, str) else _Written(cell, column.decimals or 0)


class _Written(float):
    """A number that is written with its decimals, and without quotes since it is a number."""

    def __new__(cls, value: float, decimals: int) -> "_Written":
        """Keep the decimals beside the value."""
        number = super().__new__(cls, value)
        number._decimals = decimals
        return number

    _decimals: int

    def __str__(self) -> str:
        return f"{float(self):.{self._decimals}f}"

    __repr__ = __str__


def report_xlsx(report: Report) -> bytes:
    """A workbook: a sheet "About" with the sentences, then a sheet for each table, which repeats the line on diagnosis."""
    file = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with Workbook(file, options) as book:
        book.set_properties({"title": report.title, "author": "", "created": None})
        text = book.add_format({"text_wrap": True, "valign": "top"})
        head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
        about = book.add_worksheet("About")
        about.set_column(0, 0, 110)
        for number, line in enumerate(_sentences(report)):
            about.write_string(number, 0, safe_text(line), head if number == 0 else text)
        names = {"about"}
        for table in report.tables:
            sheet = book.add_worksheet(_sheet_name(table.title, names))
            _write_table(book, sheet, table, report.non_diagnosis, text, head)
    return file.getvalue()


def _write_table(
    book: Workbook, sheet: Worksheet, table: ReportTable, non_diagnosis: str, text: Format, head: Format
) -> None:
    for place, column in enumerate(table.columns):
        sheet.write_string(0, place, safe_text(column.heading), head)
        numbers = None if column.decimals is None else book.add_format({"num_format": _number_format(column.decimals)})
        sheet.set_column(place, place, 44 if _is_wordy(table, place) else 14)
        for number, row in enumerate(table.rows, start=1):
            cell = row[place]
            if isinstance(cell, str) and cell:
                sheet.write_string(number, place, safe_text(cell), text)
            elif isinstance(cell, float):
                sheet.write_number(number, place, cell, numbers)
    sheet.freeze_panes(1, 0)
    after = len(table.rows) + 2
    for line in filter(None, (table.note, non_diagnosis)):
        sheet.write_string(after, 0, safe_text(line))
        after += 1


def _number_format(decimals: int) -> str:
    return "0" if decimals == 0 else "0." + "0" * decimals


def _is_wordy(table: ReportTable, place: int) -> bool:
    return any(len(str(row[place] or "")) > 16 for row in table.rows) and table.columns[place].decimals is None


def _sheet_name(title: str, used: set[str]) -> str:
    """A name that is allowed, and stands once whatever its capitals."""
    allowed = _NOT_IN_NAMES.sub(" ", _CONTROL.sub(" ", title)).encode("utf-16-le")[: 2 * _LONGEST_NAME]
    plain = allowed.decode("utf-16-le", errors="ignore").strip() or "Table"
    name, number = plain, 2
    while name.casefold() in used:
        name = f"{plain[: (_LONGEST_NAME - 4) // 2]} {number}"
        number += 1
    used.add(name.casefold())
    return name


def _sentences(report: Report) -> list[str]:
    made = f"Made on {report.made_on.isoformat()}."
    return [report.title, report.subtitle, made, report.non_diagnosis, *report.notes, *report.cautions]
