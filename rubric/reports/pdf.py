"""A report as PDF: A4, tables that go on over pages, the line on diagnosis at the foot of each."""

from collections.abc import Callable
from html import escape
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path

from reportlab.lib.colors import Color, black
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import CondPageBreak, KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle
from reportlab.platypus.flowables import Flowable

from rubric.reports.report import Column, Report, ReportTable, cell_text, report_in
from rubric.said import Said

_PLAIN, _BOLD = "ReportPlain", "ReportBold"
_MARGIN = 16 * mm
_FOOT = 22 * mm
_QUIET, _RULE, _BAND = Color(0.32, 0.32, 0.32), Color(0.62, 0.62, 0.62), Color(0.95, 0.95, 0.95)
#: With more columns than this the pages lie on their side.
_UPRIGHT_COLUMNS = 7
_MOST_WORDY = 90 * mm
_PADDING = 4.0
#: A heading with less room than this below it goes to the next page.
_WITH_HEADING = 42 * mm


def report_pdf(report: Report, *, say: Callable[[str], str] = str, language: str = "en") -> bytes:
    """The bytes of the PDF; the same report in the same language gives the same bytes.

    Parameters
    ----------
    report : Report
        In English, as it is made.
    say : callable
        From a sentence in English to the reader's language.
    language : str
        That language, as an ISO 639-1 code, for programs that read aloud.
    """
    _fonts()
    report = report_in(report, say)
    wide = any(len(table.columns) > _UPRIGHT_COLUMNS for table in report.tables)
    page = landscape(A4) if wide else A4
    width = page[0] - 2 * _MARGIN
    target = BytesIO()
    document = SimpleDocTemplate(
        target,
        pagesize=page,
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN,
        bottomMargin=_FOOT,
        title=report.title,
        author="",
        subject=report.subtitle,
        lang=language,
        invariant=1,
    )
    parts: list[Flowable] = _head(report)
    for table in report.tables:
        parts += _table(table, width, say)
    parts += _cautions(report, say)

    def foot(canvas: Canvas, _: SimpleDocTemplate) -> None:
        _foot(canvas, report, page[0], say)

    document.build(parts, onFirstPage=foot, onLaterPages=foot)
    return target.getvalue()


def _fonts() -> None:
    """DejaVu Sans, with Greek and Cyrillic, which mediapipe's plots bring; else the Vera fonts of reportlab."""
    if _PLAIN in getRegisteredFontNames():
        return
    found = find_spec("matplotlib")
    folder = Path(found.origin).parent / "mpl-data" / "fonts" / "ttf" if found and found.origin else Path()
    dejavu = (folder / "DejaVuSans.ttf", folder / "DejaVuSans-Bold.ttf")
    files = dejavu if all(file.is_file() for file in dejavu) else ("Vera.ttf", "VeraBd.ttf")
    for name, file in zip((_PLAIN, _BOLD), files, strict=True):
        registerFont(TTFont(name, str(file)))


def _style(
    size: float, *, bold: bool = False, right: bool = False, before: float = 0, quiet: bool = False
) -> ParagraphStyle:
    return ParagraphStyle(
        "report",
        fontName=_BOLD if bold else _PLAIN,
        fontSize=size,
        leading=1.3 * size,
        alignment=TA_RIGHT if right else 0,
        spaceBefore=before,
        spaceAfter=0.3 * size,
        textColor=_QUIET if quiet else black,
        splitLongWords=1,
    )


def _paragraph(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(text, quote=False).replace("\n", "<br/>"), style)


def _head(report: Report) -> list[Flowable]:
    parts: list[Flowable] = [
        _paragraph(report.title, _style(17, bold=True)),
        _paragraph(f"{report.subtitle} · {report.made_on.isoformat()}", _style(9.5, quiet=True)),
        Spacer(0, 2 * mm),
        _paragraph(report.non_diagnosis, _style(9.5, bold=True)),
    ]
    return parts + [_paragraph(note, _style(9.5)) for note in report.notes]


def _cautions(report: Report, say: Callable[[str], str]) -> list[Flowable]:
    head = _paragraph(say(Said("Mind")), _style(11.5, bold=True, before=6 * mm))
    return [KeepTogether([head, *(_paragraph(f"• {caution}", _style(9)) for caution in report.cautions)])]


def _table(table: ReportTable, width: float, say: Callable[[str], str]) -> list[Flowable]:
    """Heading, rows that repeat the header on each page, and the note."""
    heading = _paragraph(table.title, _style(11.5, bold=True, before=5 * mm))
    note = [_paragraph(table.note, _style(8.5, before=1.5 * mm, quiet=True))] if table.note else []
    if not table.rows:
        return [KeepTogether([heading, _paragraph(say(Said("Nothing to show.")), _style(9, quiet=True)), *note])]
    size = 7.5 if len(table.columns) > 12 else 8.5
    widths = _widths(table, width, size)
    styles = [_style(size, bold=True), _style(size, bold=True, right=True), _style(size)]
    rows: list[list[Paragraph | str]] = [
        [_paragraph(column.heading, styles[_is_number(column)]) for column in table.columns]
    ]
    for row in table.rows:
        pairs = zip(row, table.columns, strict=True)
        # Numbers need no wrapping, and a paragraph each would take most of the time.
        shown = [(cell_text(cell, column), column) for cell, column in pairs]
        rows.append([text if _is_number(column) else _paragraph(text, styles[2]) for text, column in shown])
    drawn = Table(rows, colWidths=widths, repeatRows=1, hAlign="LEFT")
    drawn.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("FONT", (0, 1), (-1, -1), _PLAIN, size, 1.3 * size),
                *(
                    ("ALIGN", (place, 1), (place, -1), "RIGHT")
                    for place, column in enumerate(table.columns)
                    if _is_number(column)
                ),
                ("LINEBELOW", (0, 0), (-1, 0), 0.8, _QUIET),
                ("LINEBELOW", (0, 1), (-1, -1), 0.3, _RULE),
                ("ROWBACKGROUNDS", (0, 1), (-1, -1), [None, _BAND]),
                ("LEFTPADDING", (0, 0), (-1, -1), _PADDING),
                ("RIGHTPADDING", (0, 0), (-1, -1), _PADDING),
                ("TOPPADDING", (0, 0), (-1, -1), 2),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
            ]
        )
    )
    return [CondPageBreak(_WITH_HEADING), heading, drawn, *note]


def _is_number(column: Column) -> bool:
    return column.decimals is not None


def _widths(table: ReportTable, width: float, size: float) -> list[float]:
    """What each column needs for its longest word and would like for its longest cell, fitted into the width."""
    needs, likes = [], []
    for place, column in enumerate(table.columns):
        texts = [column.heading, *(cell_text(row[place], column) for row in table.rows)]
        words = [word for text in texts for word in text.split()] or [""]
        needs.append(min(_of(words, size), _MOST_WORDY / 2))
        likes.append(max(needs[-1], min(_of(texts, size), _MOST_WORDY)))
    if sum(likes) <= width:
        return likes
    if sum(needs) >= width:
        return [need * width / sum(needs) for need in needs]
    room = (width - sum(needs)) / (sum(likes) - sum(needs))
    return [need + room * (like - need) for need, like in zip(needs, likes, strict=True)]


def _of(texts: list[str], size: float) -> float:
    return max(float(stringWidth(text, _BOLD, size)) for text in texts) + 2 * _PADDING + 1


def _foot(canvas: Canvas, report: Report, page_width: float, say: Callable[[str], str]) -> None:
    canvas.saveState()
    line = _paragraph(report.non_diagnosis, _style(7.5, quiet=True))
    _, height = line.wrap(page_width - 2 * _MARGIN - 20 * mm, _FOOT)
    line.drawOn(canvas, _MARGIN, _FOOT - 5 * mm - height)
    canvas.setFont(_PLAIN, 7.5)
    canvas.setFillColor(_QUIET)
    canvas.drawRightString(page_width - _MARGIN, _FOOT - 5 * mm - 8, say(Said("page {n}", n=canvas.getPageNumber())))
    canvas.restoreState()
