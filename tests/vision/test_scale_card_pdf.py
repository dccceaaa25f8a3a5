"""The printed card: exact size on paper, read back from the file itself."""

import io
import re
import shutil
import subprocess
from pathlib import Path

import cv2
import numpy as np
import pytest
from card_photos import FINENESS, flat_card

from vision.card.layout import CARD_MM, MARK_MM, MARKS_MM
from vision.card.pdf import scale_card_pdf
from vision.card.reading import CardFound, find_scale_card
from vision.commands.command import run

#: PDF 1.3, user space: 72 units an inch of 25.4 mm.
UNITS_A_MM = 72 / 25.4
#: ISO 216: A6 is 105 mm × 148 mm.
A6_MM = (148, 105)

NUMBER = r"(-?[\d.]+)"


def drawing() -> str:
    """The page's drawing operators; the file keeps them in plain text."""
    return max(
        re.findall(rb"stream\r?\n(.*?)endstream", scale_card_pdf(), re.S), key=lambda s: s.count(b" re ")
    ).decode("latin-1")


def test_the_page_is_exactly_a6() -> None:
    boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", scale_card_pdf())
    assert len(boxes) == 1
    assert [float(side) / UNITS_A_MM for side in boxes[0]] == pytest.approx(A6_MM, abs=0.001)
    assert CARD_MM == A6_MM


def test_one_unit_of_the_drawing_is_one_millimetre() -> None:
    scale = re.search(rf"^{NUMBER} 0 0 (-[\d.]+) 0 {NUMBER} cm", drawing(), re.M)
    assert scale is not None
    assert [float(part) / UNITS_A_MM for part in scale.groups()] == pytest.approx([1, -1, 105], abs=1e-4)


def test_the_ruler_is_100_mm_long_and_its_numbers_stand_at_their_ticks() -> None:
    lines = re.findall(rf"^n {NUMBER} {NUMBER} m {NUMBER} {NUMBER} l S", drawing(), re.M)
    ticks = sorted({float(x0) for x0, y0, x1, y1 in lines if x0 == x1})
    assert ticks[-1] - ticks[0] == pytest.approx(100, abs=1e-3)
    assert np.diff(ticks) == pytest.approx(np.ones(100), abs=1e-3)
    base = [abs(float(x1) - float(x0)) for x0, y0, x1, y1 in lines if y0 == y1]
    assert base == pytest.approx([100], abs=1e-3)


def drawn_picture() -> np.ndarray:
    """The rectangles of the PDF painted in their order, `FINENESS` pixels a millimetre."""
    picture = np.full([round(side * FINENESS) for side in reversed(A6_MM)], 255, np.uint8)
    grey = 255
    for operator in drawing().splitlines():
        if shade := re.fullmatch(rf"{NUMBER} g", operator.strip()):
            grey = round(float(shade[1]) * 255)
        elif box := re.match(rf"n {NUMBER} {NUMBER} {NUMBER} {NUMBER} re f", operator):
            x, y, width, height = (float(part) * FINENESS for part in box.groups())
            picture[round(y) : round(y + height), round(x) : round(x + width)] = grey
    return picture


def test_the_drawing_shows_the_marks_where_the_search_expects_them() -> None:
    picture = drawn_picture()
    marks_of_photos = flat_card() > 128
    for x, y in MARKS_MM:
        part = np.s_[
            round(y * FINENESS) : round((y + MARK_MM) * FINENESS), round(x * FINENESS) : round((x + MARK_MM) * FINENESS)
        ]
        assert np.mean((picture[part] > 128) != marks_of_photos[part]) < 0.02
    framed = cv2.copyMakeBorder(picture, 100, 100, 100, 100, cv2.BORDER_CONSTANT, value=90)
    card = find_scale_card(np.repeat(framed[:, :, None], 3, axis=2))
    assert isinstance(card, CardFound)
    assert card.n_marks == 8
    assert card.scale.mm_per_pixel == pytest.approx(1 / FINENESS, rel=0.003)
    assert card.tilt_deg < 1


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm is not on this machine")
def test_another_reader_of_pdf_prints_the_card_at_the_same_size(tmp_path: Path) -> None:
    (tmp_path / "card.pdf").write_bytes(scale_card_pdf())
    subprocess.run(["pdftoppm", "-r", "254", "-png", "card.pdf", "page"], cwd=tmp_path, check=True)
    page = cv2.imread(str(next(tmp_path.glob("page*.png"))))
    assert page.shape[:2] == pytest.approx((1050, 1480), abs=1)
    card = find_scale_card(np.ascontiguousarray(page[:, :, ::-1]))
    assert isinstance(card, CardFound)
    assert card.n_marks == 8
    assert card.scale.mm_per_pixel == pytest.approx(0.1, rel=0.003)
    said = subprocess.run(["pdfinfo", "card.pdf"], cwd=tmp_path, capture_output=True, text=True, check=True).stdout
    size = re.search(rf"Page size: +{NUMBER} x {NUMBER} pts", said)
    assert size is not None
    assert [float(side) / UNITS_A_MM for side in size.groups()] == pytest.approx(A6_MM, abs=0.01)


def test_its_fonts_are_in_the_file() -> None:
    data = scale_card_pdf()
    assert data.count(b"/FontFile2") == data.count(b"/FontDescriptor /") + data.count(b"/Type /FontDescriptor") > 0
    assert b"/Type1" not in data


def test_the_command_writes_the_card_and_says_how_to_print_it(tmp_path: Path) -> None:
    out, err = io.StringIO(), io.StringIO()
    assert run(["scale-card", str(tmp_path / "card.pdf")], out=out, err=err) == 0
    assert (tmp_path / "card.pdf").read_bytes() == scale_card_pdf()
    assert "100 %" in out.getvalue()
    assert err.getvalue() == ""


def test_a_folder_that_is_not_there_is_said_in_one_sentence(tmp_path: Path) -> None:
    out, err = io.StringIO(), io.StringIO()
    assert run(["scale-card", str(tmp_path / "nowhere" / "card.pdf")], out=out, err=err) == 2
    assert err.getvalue().count("\n") == 1
    assert "cannot be written" in err.getvalue()
