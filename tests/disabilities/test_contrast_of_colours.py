"""Contrast from the theme and the style sheets: words 4.5:1, edges, rings and marks 3:1 (WCAG 2.2, 1.4.3 and 1.4.11)."""

import re
import tomllib
from pathlib import Path

import pytest

from tests.served import PROJECT

SCREENS = PROJECT / "screens"
THEME = tomllib.loads((PROJECT / ".streamlit" / "config.toml").read_text(encoding="utf-8"))["theme"]


def variables(path: Path) -> dict[str, str]:
    """The colours that a style sheet names, `color-mix` worked out."""
    text = path.read_text(encoding="utf-8")
    found = dict(re.findall(r"--([\w-]+): ([^;]+);", text))
    return {name: colour for name, value in found.items() if (colour := worked_out(value, found)) is not None}


def worked_out(value: str, known: dict[str, str]) -> str | None:
    """A colour as #rrggbb, or None for what is none."""
    value = value.strip()
    if re.fullmatch(r"#[0-9a-fA-F]{6}", value):
        return value
    if inner := re.fullmatch(r"var\(--([\w-]+)(?:, *(#[0-9a-fA-F]{6}))?\)", value):
        return inner[2] or worked_out(known[inner[1]], known)
    if mixed := re.fullmatch(r"color-mix\(in srgb, (.+?) (\d+)%, (.+)\)", value):
        first, second = worked_out(mixed[1], known), worked_out(mixed[3], known)
        assert first is not None
        assert second is not None
        share = int(mixed[2]) / 100
        return "#" + "".join(
            f"{round(share * a + (1 - share) * b):02x}" for a, b in zip(parts(first), parts(second), strict=True)
        )
    return None


def parts(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance(colour: str) -> float:
    """WCAG 2.2's relative luminance of an sRGB colour."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (part / 255 for part in parts(colour))
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


PAGE = variables(SCREENS / "look.css") | variables(SCREENS / "frame" / "frame.css")
EDITOR = variables(SCREENS / "editor" / "css" / "frame.css")


def test_contrast_is_the_published_one() -> None:
    # WCAG 2.2: black on white is 21:1, a colour on itself 1:1; #767676 on white is the well-known last grey with 4.54:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#1b6b72", "#1b6b72") == pytest.approx(1)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_the_style_sheet_and_the_theme_have_the_same_colours() -> None:
    named = {"paper": "backgroundColor", "sand": "secondaryBackgroundColor", "ink": "textColor", "teal": "primaryColor"}
    assert {name: PAGE[name].lower() for name in named} == {name: THEME[key].lower() for name, key in named.items()}
    assert EDITOR["ink"].lower() == THEME["textColor"].lower()
    assert EDITOR["accent"].lower() == THEME["primaryColor"].lower()


@pytest.mark.parametrize("ground", ["paper", "card", "sand", "teal-wash", "plum-wash"])
def test_words_stand_out_from_every_ground_of_the_page(ground: str) -> None:
    for words in ("ink", "soft-ink", "teal"):
        assert contrast(PAGE[words], PAGE[ground]) >= 4.5, (words, ground)


@pytest.mark.parametrize("ground", ["paper", "card", "wash", "table"])
def test_words_stand_out_from_every_ground_of_the_editors(ground: str) -> None:
    for words in ("ink", "quiet"):
        assert contrast(EDITOR[words], EDITOR[ground]) >= 4.5, (words, ground)


def test_words_on_filled_buttons_stand_out() -> None:
    assert contrast("#ffffff", PAGE["teal"]) >= 4.5


@pytest.mark.parametrize("ground", ["paper", "card", "sand"])
def test_edges_of_controls_and_the_ring_of_the_focus_stand_out(ground: str) -> None:
    assert contrast(PAGE["edge"], PAGE[ground]) >= 3
    assert contrast(PAGE["ring"], PAGE[ground]) >= 3


def test_edges_and_rings_in_the_editors_stand_out() -> None:
    for ground in ("paper", "card", "table"):
        assert contrast(EDITOR["edge"], EDITOR[ground]) >= 3, ground
        assert contrast(EDITOR["accent"], EDITOR[ground]) >= 3, ground


def test_the_ring_on_a_photo_has_a_light_and_a_dark_part_so_that_one_shows_on_any_grey() -> None:
    sheets = [SCREENS / "editor" / "css" / "stage.css", SCREENS / "cover_editor" / "cover_editor.css"]
    for sheet in sheets:
        rings = re.findall(
            r":focus-visible \{ outline: 3px solid (#fff);[^}]*box-shadow: 0 0 0 \dpx (#[0-9A-F]{6})",
            sheet.read_text(encoding="utf-8"),
        )
        assert len(rings) == 1, sheet
        for level in range(256):
            grey = f"#{level:02x}{level:02x}{level:02x}"
            assert max(contrast("#ffffff", grey), contrast(rings[0][1], grey)) >= 3, (sheet, level)


def test_the_answers_on_the_projector_stand_out_from_the_page_and_carry_white_words() -> None:
    text = (SCREENS / "review" / "projector.py").read_text(encoding="utf-8")
    colours = re.findall(r"Answer\.\w+: \(\"[^\"]+\", \"(#[0-9A-F]{6})\"\)", text)
    assert len(colours) == 3
    for colour in colours:
        assert contrast("#ffffff", colour) >= 4.5, colour
        assert contrast(colour, PAGE["paper"]) >= 3, colour
