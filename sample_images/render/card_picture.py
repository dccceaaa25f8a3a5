"""Draw the picture of the printed scale card that `card` lays into a scene.

    python -m sample_images.render.card_picture

needs the app's own environment (OpenCV); the marks and places come from `vision.card.layout`.
"""

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from vision.card.layout import CARD_MM, MARK_MM, MARKS_MM, RULER_LENGTH_MM, RULER_START_MM, mark_fields

#: Pixels a millimetre: drawn fine, then averaged.
FINE, KEPT = 12, 3
PICTURE = Path(__file__).parent / "scale_card.png"


def card_picture() -> Image.Image:
    """The card in shades of grey, KEPT pixels a millimetre."""
    picture = Image.new("L", (round(CARD_MM[0] * FINE), round(CARD_MM[1] * FINE)), 255)
    draw = ImageDraw.Draw(picture)
    for number, (left, top) in enumerate(MARKS_MM):
        fields = mark_fields(number)
        side = MARK_MM / len(fields)
        for row, column in np.ndindex(fields.shape):
            x, y = left + column * side, top + row * side
            box = [round(a * FINE) for a in (x, y, x + side, y + side)]
            draw.rectangle([box[0], box[1], box[2] - 1, box[3] - 1], fill=255 if fields[row, column] else 0)
    x0, y0 = RULER_START_MM
    for tick in range(round(RULER_LENGTH_MM) + 1):
        length = 4.0 if tick % 10 == 0 else 2.9 if tick % 5 == 0 else 1.8
        draw.line([(x0 + tick) * FINE, y0 * FINE, (x0 + tick) * FINE, (y0 + length) * FINE], fill=0, width=FINE // 4)
    draw.line([x0 * FINE, y0 * FINE, (x0 + RULER_LENGTH_MM) * FINE, y0 * FINE], fill=0, width=FINE // 4)
    draw.text((x0 * FINE, 40 * FINE), "Scale card", fill=0, font_size=6 * FINE)
    draw.text((x0 * FINE, 50 * FINE), "Print at 100 %: this ruler is 100 mm long.", fill=60, font_size=3 * FINE)
    return picture.resize((round(CARD_MM[0] * KEPT), round(CARD_MM[1] * KEPT)), Image.Resampling.BOX)


if __name__ == "__main__":
    card_picture().save(PICTURE, optimize=True)
