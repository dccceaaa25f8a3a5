"""The scale card as a PDF: one page of exactly A6, everything drawn as lines and areas."""

from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from vision.card.layout import CARD_MM, MARK_MM, MARKS_MM, RULER_LENGTH_MM, RULER_START_MM, mark_fields

#: reportlab brings these fonts; they go into the file, so that it looks the same everywhere.
_PLAIN, _BOLD = "Vera", "VeraBd"
_INK, _QUIET = 0.0, 0.42
_CUT_MM = 2.5

_TITLE = "Scale card"
_PRINT = "Print at 100 %, then measure this ruler: it must be 100 mm long."
_OTHERWISE = "If it is not, the printer has scaled the page: switch that off and print again."
_USE = (
    "Lay it flat beside the face, in its plane, square to the camera.",
    "Half of the marks may be covered. Keep it off nose and mouth.",
)


def scale_card_pdf() -> bytes:
    """The bytes of the PDF, the same at every call.

    Examples
    --------
    >>> scale_card_pdf()[:5]
    b'%PDF-'
    """
    for font in (_PLAIN, _BOLD):
        registerFont(TTFont(font, f"{font}.ttf"))
    target = BytesIO()
    page = (CARD_MM[0] * mm, CARD_MM[1] * mm)
    # Not compressed: a test reads the lengths back from the drawing itself. invariant: no date of the day.
    canvas = Canvas(target, pagesize=page, pageCompression=0, invariant=1, initialFontName=_PLAIN)
    canvas.setTitle(_TITLE)
    canvas.setAuthor("")
    canvas.setCreator("")
    canvas.setSubject("Marks of known size for photos in which lengths are measured")
    # reportlab draws upwards from the bottom left; the card counts millimetres down from the top left.
    canvas.translate(0, CARD_MM[1] * mm)
    canvas.scale(mm, -mm)
    _cutting_line(canvas)
    for mark, (x, y) in enumerate(MARKS_MM):
        _mark(canvas, mark, x, y)
    _words(canvas)
    _ruler(canvas)
    canvas.showPage()
    canvas.save()
    return target.getvalue()


def _cutting_line(canvas: Canvas) -> None:
    canvas.setStrokeGray(0.75)
    canvas.setLineWidth(0.15)
    canvas.roundRect(_CUT_MM, _CUT_MM, CARD_MM[0] - 2 * _CUT_MM, CARD_MM[1] - 2 * _CUT_MM, 2.5)


def _mark(canvas: Canvas, mark: int, left: float, top: float) -> None:
    """Black square first, white fields on it, each row's neighbours as one: no seams between fields."""
    fields = mark_fields(mark)
    side = MARK_MM / len(fields)
    canvas.setFillGray(_INK)
    canvas.rect(left, top, MARK_MM, MARK_MM, stroke=0, fill=1)
    canvas.setFillGray(1)
    for row, column in zip(*fields.nonzero(), strict=True):
        overlap_x = 0.02 if column + 1 < len(fields) and fields[row, column + 1] else 0.0
        overlap_y = 0.02 if row + 1 < len(fields) and fields[row + 1, column] else 0.0
        canvas.rect(left + column * side, top + row * side, side + overlap_x, side + overlap_y, stroke=0, fill=1)


def _words(canvas: Canvas) -> None:
    _text(canvas, _TITLE, RULER_START_MM[0], 37.5, size=15, bold=True)
    for line, text in enumerate(_USE):
        _text(canvas, text, RULER_START_MM[0], 43.5 + 4.0 * line, size=7.2)
    _text(canvas, _PRINT, RULER_START_MM[0], 54.0, size=7.2, bold=True)
    _text(canvas, _OTHERWISE, RULER_START_MM[0], 58.0, size=7.2, grey=_QUIET)


def _ruler(canvas: Canvas) -> None:
    """Ticks hang from the base line; the base line ends at the middle of its first and last tick."""
    left, top = RULER_START_MM
    canvas.setStrokeGray(_INK)
    for tick in range(round(RULER_LENGTH_MM) + 1):
        length = 4.0 if tick % 10 == 0 else 2.9 if tick % 5 == 0 else 1.8
        canvas.setLineWidth(0.2 if tick % 5 == 0 else 0.12)
        canvas.line(left + tick, top, left + tick, top + length)
    canvas.setLineWidth(0.2)
    canvas.line(left, top, left + RULER_LENGTH_MM, top)
    for tick in range(0, round(RULER_LENGTH_MM) + 1, 10):
        _text(canvas, f"{tick}", left + tick, top + 7.0, size=6.5, middle=True)
    _text(canvas, "mm", left + RULER_LENGTH_MM + 3.2, top + 7.0, size=6.5)


def _text(
    canvas: Canvas,
    text: str,
    x: float,
    baseline: float,
    *,
    size: float,
    bold: bool = False,
    grey: float = _INK,
    middle: bool = False,
) -> None:
    """A line of text, `size` in points."""
    font = _BOLD if bold else _PLAIN
    canvas.saveState()
    canvas.translate(x, baseline)
    canvas.scale(1 / mm, -1 / mm)
    canvas.setFillGray(grey)
    canvas.setFont(font, size)
    (canvas.drawCentredString if middle else canvas.drawString)(0, 0, text)
    canvas.restoreState()
