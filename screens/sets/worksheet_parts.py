"""What worksheets on paper are made of: letters, boxes to tick, tables, and the lines that stand on every page."""

from collections.abc import Sequence
from functools import lru_cache
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph, Table

from screens.language import N_, _, current

PLAIN, BOLD = "Vera", "VeraBd"
INK, QUIET, RULE = Color(0.1, 0.12, 0.14), Color(0.36, 0.4, 0.43), Color(0.78, 0.78, 0.76)
MARGIN = 17 * mm
WIDTH = A4[0] - 2 * MARGIN

BODY = ParagraphStyle("body", fontName=PLAIN, fontSize=8.8, leading=11.6, textColor=INK)
SMALL = ParagraphStyle("small", parent=BODY, fontSize=7.6, leading=10, textColor=QUIET)
TITLE = ParagraphStyle("title", parent=BODY, fontName=BOLD, fontSize=14, leading=18)
HEADING = ParagraphStyle("heading", parent=BODY, fontName=BOLD, fontSize=9.6, leading=13, spaceBefore=4)

_BOX_LETTERS = 7.6

CAUTIONS = N_(
    "For practising to observe; it diagnoses nothing. A photo is one instant: no pain, swallowing, breathing or weight can be "
    "seen in it. Worried about a real baby or mother: stop and get help now. Local guidance and licensed practice come first."
)


class Boxes(Flowable):  # type: ignore[misc]
    """Empty squares with a word each, on one line."""

    def __init__(self, words: Sequence[str]) -> None:
        super().__init__()
        letters_of_the_font()
        self.height = 3.4 * mm
        self._steps = [self.height + stringWidth(word, PLAIN, _BOX_LETTERS) + 3.6 * mm for word in words]
        self.width = sum(self._steps)
        self._words = words

    def draw(self) -> None:
        """Called by reportlab."""
        self.canv.setStrokeColor(INK)
        self.canv.setFont(PLAIN, _BOX_LETTERS)
        self.canv.setFillColor(INK)
        left = 0.0
        for step, word in zip(self._steps, self._words, strict=True):
            self.canv.rect(left, 0, self.height, self.height)
            self.canv.drawString(left + self.height + 1.2 * mm, 0.8 * mm, word)
            left += step


def built(parts: list[Flowable], *, title: str, head: str) -> bytes:
    """The PDF of these parts: `title` for its list of contents, `head` at the foot of each page."""
    letters_of_the_font()
    target = BytesIO()
    document = BaseDocTemplate(
        target,
        title=title,
        author="",
        creator="",
        subject=_("Worksheet"),
        lang=current(),
        invariant=1,
        initialFontName=PLAIN,
    )
    room = Frame(MARGIN, 21 * mm, WIDTH, A4[1] - 33 * mm, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0)

    def around(canvas: Canvas, document: BaseDocTemplate) -> None:
        _footer(canvas, document, printable_letters(head))

    document.addPageTemplates(PageTemplate(pagesize=A4, frames=[room], onPage=around))
    document.build(parts)
    return target.getvalue()


def table(
    rows: Sequence[Sequence[Any]],
    columns: Sequence[float],
    heights: Sequence[float | None] | None = None,
    *,
    ruled: bool = True,
    style: Sequence[Any] = (),
) -> Table:
    """At the left edge, close together, with a thin line under each row where it is ruled."""
    drawn = Table([list(row) for row in rows], list(columns), heights, hAlign="LEFT")
    plain: list[Any] = [
        ("FONT", (0, 0), (-1, -1), PLAIN), ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("TOPPADDING", (0, 0), (-1, -1), 2.2), ("BOTTOMPADDING", (0, 0), (-1, -1), 2.4),
    ]  # fmt: skip
    lines = [("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE)] if ruled else []
    drawn.setStyle([*plain, *lines, *style])
    return drawn


def _footer(canvas: Canvas, document: BaseDocTemplate, head: str) -> None:
    """The set's name and the page, and on every page what to mind."""
    canvas.saveState()
    words = Paragraph(_(CAUTIONS), SMALL)
    _width, high = words.wrap(WIDTH, 20 * mm)
    words.drawOn(canvas, MARGIN, 18 * mm - high)
    canvas.setFont(PLAIN, 7.2)
    canvas.setFillColor(QUIET)
    canvas.drawString(MARGIN, 6.5 * mm, head)
    canvas.drawRightString(A4[0] - MARGIN, 6.5 * mm, _("page {n}").format(n=document.page))
    canvas.restoreState()


@lru_cache(maxsize=1)
def letters_of_the_font() -> frozenset[int]:
    """The letters that the fonts have; registers the fonts besides."""
    for font in (PLAIN, BOLD):
        registerFont(TTFont(font, f"{font}.ttf"))
    return frozenset(TTFont(PLAIN, f"{PLAIN}.ttf").face.charToGlyph)


def printable_letters(text: str) -> str:
    """The text with a question mark for each letter that the font lacks, which would come out as a black box."""
    return "".join(letter if ord(letter) in letters_of_the_font() or letter == "\n" else "?" for letter in text)


def escaped(text: str) -> str:
    """A text as a paragraph takes it."""
    return escape(printable_letters(text)).replace("\n", "<br/>")
