"""Where labels go and how their text is drawn: beside their point, off the lines, off each other.

Text is drawn with the Vera font that comes with reportlab, so that every machine draws the same; Pillow's own font has
no letters with marks, as German and French need them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.util import find_spec
from itertools import pairwise, product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from vision.drawing.strokes import Colour

#: left, top, right, bottom in pixels.
Rectangle = tuple[float, float, float, float]
Floats = NDArray[np.float64]

_PLAIN = str.maketrans({"–": "-", "−": "-", "“": '"', "„": '"', "”": '"', "’": "'", "×": "x", "ψ": "head direction"})
#: Vera is drawn large for its size.
_FONT_SCALE = 0.88
_DARK = (16, 18, 22, 205)


@dataclass(frozen=True, kw_only=True)
class Label:
    """Text that belongs to a point.

    Parameters
    ----------
    text : str
    at : complex
        The point x + iy in pixels.
    size : float
        Height of the letters in pixels.
    colour : Colour
    boxed : bool
        On a dark plate, for values; else with a dark outline, for names.
    gap : float
        How far from the point the label starts, in pixels.
    """

    text: str
    at: complex
    size: float
    colour: Colour
    boxed: bool = False
    gap: float = 10.0


@dataclass
class Layout:
    """Places labels one after the other; what was placed first keeps its place.

    Parameters
    ----------
    width, height : int
        Size of the picture in pixels: labels stay inside it.
    taken : list of Rectangle
        What labels should not cover.
    """

    width: int
    height: int
    taken: list[Rectangle] = field(default_factory=list)

    def avoid_path(self, points: Sequence[complex], step: float) -> None:
        """Keep labels off the line through these points."""
        for start, end in pairwise(points):
            count = max(1, round(abs(end - start) / step))
            for place in range(count + 1):
                self.avoid_point(start + (end - start) * place / count, step / 2)

    def avoid_point(self, at: complex, radius: float) -> None:
        """Keep labels off this point."""
        self.taken.append((at.real - radius, at.imag - radius, at.real + radius, at.imag + radius))

    def place(self, label: Label) -> Rectangle:
        """The best place for the label; it is taken from now on."""
        width, height = label_size(label)
        options = self._inside(np.array(list(_candidates(label, width, height))))
        cost = _covered(options, np.array(self.taken or [(0.0, 0.0, 0.0, 0.0)]))
        cost += 0.4 * height * np.array([_distance(box, label.at) for box in options])
        left, top, right, bottom = options[cost.argmin()].tolist()
        self.taken.append((left, top, right, bottom))
        return left, top, right, bottom

    def _inside(self, boxes: Floats) -> Floats:
        """The boxes moved into the picture, 2 pixels off its edge."""
        moved = boxes.copy()
        for low, high, limit in ((0, 2, self.width), (1, 3, self.height)):
            shift = (2 - boxes[:, low]).clip(min=0) - (boxes[:, high] - limit + 2).clip(min=0)
            moved[:, [low, high]] += shift[:, None]
        return moved


def write_labels(image: Image.Image, labels: Iterable[tuple[Label, Rectangle]]) -> None:
    """Draw the labels at their places, in place, plates first so that they cover no text."""
    pen = ImageDraw.Draw(image, "RGBA")
    placed = list(labels)
    for label, box in placed:
        if label.boxed:
            pen.rounded_rectangle(box, radius=_pad(label), fill=_DARK)
        elif _distance(box, label.at) > 1.6 * label.gap:
            _join(pen, label, box)
    for label, box in placed:
        pad, stroke = _pad(label), 0 if label.boxed else max(1, round(label.size / 8))
        position = (box[0] + pad, (box[1] + box[3]) / 2)
        text, shade = printable(label.text), _DARK[:3]
        pen.text(position, text, label.colour, font_of(label.size), "lm", stroke_width=stroke, stroke_fill=shade)


@cache
def font_of(size: float) -> ImageFont.FreeTypeFont:
    """The font for letters of that height in pixels."""
    found = find_spec("reportlab")
    if found is None or found.origin is None:
        raise RuntimeError("reportlab is not installed, and its fonts are those of the labels")
    return ImageFont.truetype(Path(found.origin).with_name("fonts") / "Vera.ttf", _FONT_SCALE * size)


def printable(text: str) -> str:
    """The text in letters that the font has."""
    return text.translate(_PLAIN)


def label_size(label: Label) -> tuple[float, float]:
    """Width and height of a label with its margin, in pixels."""
    pad = _pad(label)
    return font_of(label.size).getlength(printable(label.text)) + 2 * pad, label.size * 1.15 + 2 * pad


def _pad(label: Label) -> float:
    return label.size * (0.35 if label.boxed else 0.12)


def _join(pen: ImageDraw.ImageDraw, label: Label, box: Rectangle) -> None:
    """A thin line from a label that stands away from its point to the edge of the point's mark."""
    nearest = _nearest(box, label.at)
    edge = label.at + (nearest - label.at) / abs(nearest - label.at) * label.gap
    for colour, width in ((_DARK, 3), (label.colour, 1)):
        pen.line((edge.real, edge.imag, nearest.real, nearest.imag), colour, width)


def _candidates(label: Label, width: float, height: float) -> Iterable[Rectangle]:
    """Boxes all round the point, near ones first."""
    for far, (side_x, side_y) in product((1.0, 2.0, 3.2, 4.6, 6.4), product((1.0, -1.0, 0.0), (0.0, -1.0, 1.0))):
        if (side_x, side_y) == (0.0, 0.0):
            continue
        middle_x = label.at.real + side_x * (label.gap * far + width / 2)
        middle_y = label.at.imag + side_y * (label.gap * far * (0.7 if side_x else 1.0) + height / 2)
        yield middle_x - width / 2, middle_y - height / 2, middle_x + width / 2, middle_y + height / 2


def _covered(boxes: Floats, taken: Floats) -> Floats:
    """Cost of what each box would cover: 8 for each pixel."""
    wide = np.minimum(boxes[:, None, 2], taken[:, 2]) - np.maximum(boxes[:, None, 0], taken[:, 0])
    high = np.minimum(boxes[:, None, 3], taken[:, 3]) - np.maximum(boxes[:, None, 1], taken[:, 1])
    covered: Floats = (wide.clip(min=0) * high.clip(min=0)).sum(axis=1) * 8
    return covered


def _distance(box: Sequence[float], at: complex) -> float:
    return abs(_nearest(box, at) - at)


def _nearest(box: Sequence[float], at: complex) -> complex:
    return complex(min(max(at.real, box[0]), box[2]), min(max(at.imag, box[1]), box[3]))
