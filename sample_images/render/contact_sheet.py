"""All sample pictures on one sheet: `python -m sample_images.render.contact_sheet` (the app's own environment is enough)."""

import json
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageDraw

FOLDER = Path(__file__).parent.parent
SHEET = FOLDER / "contact_sheet.png"
COLUMNS, CELL, CAPTION, GAP = 5, (240, 180), 16, 8
LIMIT_BYTES = 700_000


def contact_sheet(folder: Path = FOLDER) -> Image.Image:
    """Every picture with its file name, tone, gape and line, in the order of the names."""
    pictures = sorted(folder.glob("*.jpg"))
    rows = -(-len(pictures) // COLUMNS)
    step = (CELL[0] + GAP, CELL[1] + 2 * CAPTION + GAP)
    sheet = Image.new("RGB", (COLUMNS * step[0] + GAP, rows * step[1] + GAP), "white")
    draw = ImageDraw.Draw(sheet)
    for number, path in enumerate(pictures):
        record = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        with Image.open(path) as picture:
            small = picture.convert("RGB")
        small.thumbnail(CELL, Image.Resampling.LANCZOS)
        left, top = GAP + number % COLUMNS * step[0], GAP + number // COLUMNS * step[1]
        sheet.paste(small, (left + (CELL[0] - small.width) // 2, top + (CELL[1] - small.height) // 2))
        line = record["true"]["alignment_angle"]
        facts = f"tone {record['skin_tone']}, gape {record['true']['gape_angle']:.0f}°"
        facts += "" if line is None else f", line {line:.0f}°"
        draw.text((left, top + CELL[1]), path.stem, fill=(30, 30, 30), font_size=13)
        draw.text((left, top + CELL[1] + CAPTION), facts, fill=(90, 90, 90), font_size=12)
    return sheet


def save(sheet: Image.Image, path: Path) -> int:
    """Write a PNG in as many colours as the limit allows, dithered; returns its bytes."""
    for colours in (256, 192, 128, 96, 64):
        buffer = BytesIO()
        palette = sheet.quantize(colours, method=Image.Quantize.MEDIANCUT)
        sheet.quantize(palette=palette, dither=Image.Dither.FLOYDSTEINBERG).save(buffer, "PNG", optimize=True)
        if buffer.tell() <= LIMIT_BYTES:
            break
    path.write_bytes(buffer.getvalue())
    return buffer.tell()


if __name__ == "__main__":
    print(f"{SHEET.name}: {save(contact_sheet(), SHEET)} bytes")
