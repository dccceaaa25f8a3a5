"""The consent form as a PDF to print: two A4 pages of text, lines to write on and boxes to tick.

It is drawn at each request and knows no database; what it says stands in `consent_form_words`.
"""

from collections.abc import Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, black
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)

from screens.language import N_, _, current
from screens.ledger import consent_form_words as words
from screens.ledger.consent_form_words import FORM_VERSION

__all__ = ["FORM_VERSION", "consent_form_pdf"]

#: reportlab brings these fonts; they go into the file, so that it looks the same everywhere.
_PLAIN, _BOLD = "Vera", "VeraBd"
_INK, _QUIET, _WASH = Color(0.1, 0.12, 0.14), Color(0.36, 0.4, 0.43), Color(0.94, 0.94, 0.93)
_MARGIN = 19 * mm
_WIDTH = A4[0] - 2 * _MARGIN
_GAP = 5 * mm
_LONGEST_SCHOOL = 80

_BODY = ParagraphStyle("body", fontName=_PLAIN, fontSize=9.5, leading=13.3, textColor=_INK)
_SMALL = ParagraphStyle("small", parent=_BODY, fontSize=8.2, leading=11, textColor=_QUIET)
_HEADING = ParagraphStyle(
    "heading", parent=_BODY, fontName=_BOLD, fontSize=10, leading=13, spaceBefore=6.5, spaceAfter=1
)
_TITLE = ParagraphStyle("title", parent=_BODY, fontName=_BOLD, fontSize=17, leading=21, spaceAfter=2)


class _TickBox(Flowable):  # type: ignore[misc]
    """An empty square."""

    def __init__(self, side: float = 3.6 * mm) -> None:
        super().__init__()
        self.width = self.height = side

    def draw(self) -> None:
        """Called by reportlab."""
        self.canv.setStrokeColor(_INK)
        self.canv.setLineWidth(0.9)
        self.canv.rect(0, 0, self.width, self.height)


def consent_form_pdf(*, school: str | None) -> bytes:
    """The bytes of the PDF, the same at every call with the same school.

    Parameters
    ----------
    school : str or None
        The school's name; a line to write on where there is none, or where the form's font lacks one of its letters.

    Examples
    --------
    >>> consent_form_pdf(school="Hollowmere School of Midwifery")[:5]
    b'%PDF-'
    """
    for font in (_PLAIN, _BOLD):
        registerFont(TTFont(font, f"{font}.ttf"))
    target = BytesIO()
    # Not compressed: a test reads the words back from the file. invariant: no date of the day.
    document = BaseDocTemplate(
        target,
        title=_(words.TITLE),
        author="",
        creator="",
        subject=_("Template"),
        lang=current(),
        pageCompression=0,
        invariant=1,
        initialFontName=_PLAIN,
    )
    room = Frame(
        _MARGIN, 16 * mm, _WIDTH, A4[1] - 31 * mm, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
    )
    document.addPageTemplates(PageTemplate(pagesize=A4, frames=[room], onPage=_footer))
    parts = [*_what_it_says(_school_line(school)), PageBreak(), *_what_is_agreed()]
    document.build(parts)
    return target.getvalue()


def _school_line(school: str | None) -> Flowable:
    name = " ".join((school or "").split())[:_LONGEST_SCHOOL]
    letters = TTFont(_PLAIN, f"{_PLAIN}.ttf").face.charToGlyph
    if not name or any(ord(letter) not in letters for letter in name):
        return _fields([N_("School")])
    return Paragraph(escape(_("School: {name}").format(name=name)), _BODY)


def _what_it_says(school: Flowable) -> list[Flowable]:
    """The first page."""
    framed: list[Any] = [("BACKGROUND", (0, 0), (-1, -1), _WASH), ("BOX", (0, 0), (-1, -1), 0.5, _QUIET)]
    framed += [(f"{side}PADDING", (0, 0), (-1, -1), 6) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]
    template = _table([[Paragraph(_(words.TEMPLATE), _SMALL)]], [_WIDTH], framed)
    parts: list[Flowable] = [Paragraph(_(words.TITLE), _TITLE), school, Spacer(0, 2 * mm), template, Spacer(0, 2 * mm)]
    parts.append(Paragraph(_(words.LEDE), _BODY))
    for point in words.POINTS:
        parts += [Paragraph(_(point.heading), _HEADING), Paragraph(_(point.text), _BODY)]
    return [*parts, Paragraph(_(words.CONTACT), _HEADING), _fields(words.CONTACT_FIELDS)]


def _what_is_agreed() -> list[Flowable]:
    """The second page."""
    use_rows = [f'<font name="{_BOLD}">{_(name)}</font>, {_(more)}' for name, more in words.USES]
    return [
        Paragraph(_(words.ADULT_HEADING), _HEADING), _ticks(words.ADULT_TICKS),
        Spacer(0, 1 * mm), Paragraph(_(words.FACE_INTRO), _SMALL), _ticks(words.FACE_TICKS),
        Paragraph(_(words.CHILD_HEADING), _HEADING), Paragraph(_(words.CHILD_INTRO), _SMALL), _ticks(words.CHILD_TICKS),
        Paragraph(_(words.USES_HEADING), _HEADING), Paragraph(_(words.USES_INTRO), _SMALL), _uses(use_rows),
        Paragraph(_(words.USES_NOTE), _SMALL),
        Paragraph(_(words.TIME_HEADING), _HEADING), _fields(words.TIME_FIELDS), Paragraph(_(words.TIME_NOTE), _SMALL),
        Paragraph(_(words.SIGN_HEADING), _HEADING), _signatures(), Spacer(0, 4 * mm), Paragraph(_(words.COPY), _BODY),
    ]  # fmt: skip


def _ticks(sentences: Sequence[str]) -> Table:
    """A box before each sentence."""
    rows = [[_TickBox(), Paragraph(_(sentence), _BODY)] for sentence in sentences]
    return _table(rows, [7 * mm, _WIDTH - 7 * mm])


def _uses(rows: Sequence[str]) -> Table:
    """Two boxes a use: one for the adult, one for who decides for the child; a line where the class is written."""
    heads = [Paragraph(_("adult"), _SMALL), Paragraph(_("child"), _SMALL), "", ""]
    body = [[_TickBox(), _TickBox(), Paragraph(row, _BODY), ""] for row in rows]
    lined = next(row for row, text in enumerate(rows, start=1) if text.endswith(":"))
    style: list[Any] = [("SPAN", (2, row), (3, row)) for row in range(1, len(rows) + 1) if row != lined]
    columns = [14 * mm, 14 * mm, 69 * mm, _WIDTH - 97 * mm]
    return _table([heads, *body], columns, [*style, ("LINEBELOW", (3, lined), (3, lined), 0.6, _QUIET)])


def _fields(labels: Sequence[str]) -> Table:
    """Lines to write on side by side, each with its label below."""
    return _lines([[Paragraph(_(label), _SMALL) for label in labels]], [1 / len(labels)] * len(labels), 9 * mm)


def _signatures() -> Table:
    """For each person a line for the name, for the signature, and for place and date."""
    rows = []
    for who, more in words.SIGN_ROWS:
        label = f'<font name="{_BOLD}" color="#1a1f24">{_(who)}</font>' + (f"<br/>{_(more)}" if more else "")
        rows.append(
            [Paragraph(label, _SMALL), Paragraph(_("Signature"), _SMALL), Paragraph(_("Place and date"), _SMALL)]
        )
    return _lines(rows, [0.42, 0.32, 0.26], 15 * mm)


def _lines(labels: Sequence[Sequence[Flowable]], shares: Sequence[float], high: float) -> Table:
    """Rows of lines with room to write above and a label below; narrow columns keep the lines apart."""
    columns: list[float] = []
    for share in shares:
        columns += [share * _WIDTH - _GAP, _GAP]
    rows: list[list[Any]] = []
    style: list[Any] = [("VALIGN", (0, 0), (-1, -1), "TOP")]
    for row in labels:
        for column in range(len(row)):
            style.append(("LINEBELOW", (2 * column, len(rows)), (2 * column, len(rows)), 0.6, _QUIET))
        rows += [[""] * len(columns), [cell for label in row for cell in (label, "")]]
    return _table(rows, columns, style, [high, None] * len(labels))


def _table(
    rows: Sequence[Sequence[Any]],
    columns: Sequence[float],
    style: Sequence[Any] = (),
    heights: Sequence[float | None] | None = None,
) -> Table:
    """At the left edge, in the form's own font, close together."""
    table = Table(rows, columns, heights, hAlign="LEFT")
    plain: list[Any] = [
        ("FONT", (0, 0), (-1, -1), _PLAIN), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), 2.2), ("BOTTOMPADDING", (0, 0), (-1, -1), 2.2),
    ]  # fmt: skip
    table.setStyle(TableStyle([*plain, *style]))
    return table


def _footer(canvas: Canvas, document: BaseDocTemplate) -> None:
    """Version and page below each page."""
    canvas.saveState()
    canvas.setFont(_PLAIN, 7.5)
    canvas.setFillColor(_QUIET)
    canvas.drawString(
        _MARGIN,
        9 * mm,
        _("{title}, template, form version {form_version}").format(title=_(words.TITLE), form_version=FORM_VERSION),
    )
    canvas.drawRightString(A4[0] - _MARGIN, 9 * mm, _("page {page} of 2").format(page=document.page))
    canvas.setFillColor(black)
    canvas.restoreState()
