"""The overlay, drawn by Python, and the editor, drawn by the browser, give each group of points one colour."""

import re
from pathlib import Path

from vision.drawing.strokes import GROUP_OF

LANDMARKS_JS = Path(__file__).resolve().parent.parent / "screens" / "editor" / "js" / "landmarks.js"


def test_every_landmark_has_the_same_colour_in_the_editor_and_on_the_overlay() -> None:
    text = LANDMARKS_JS.read_text(encoding="utf-8")
    colours = dict(re.findall(r'(\w+): \{ name: [^,]+, colour: "(#[0-9A-F]{6})"', text))
    groups = dict(re.findall(r'(\w+): \{\s*group: "(\w+)"', text))
    assert set(groups) == set(GROUP_OF)
    for name, group in groups.items():
        if group == "scale":
            continue
        red, green, blue = GROUP_OF[name].colour
        assert colours[group] == f"#{red:02X}{green:02X}{blue:02X}", name
