"""Marks, pins and the heat map for people who see fewer colours: what must be told apart differs by more than hue.

Simulated by Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision deficiency", IEEE
Transactions on Visualization and Computer Graphics 15(6):1291-1298, 2009, severity 1.0, applied to linear sRGB.
"""

import re
from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray

from rubric.answers import Answer
from screens.review.charts import HEAT
from screens.review.projector import _MARKS
from tests.served import PROJECT
from vision.drawing.strokes import GROUP_OF, Group

MACHADO = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
#: Luminance only, as for someone who sees no colour at all (and on a grey print).
GREY = ((0.2126, 0.7152, 0.0722),) * 3
SEEN_AS = {"as it is": np.eye(3).tolist(), **MACHADO, "grey": GREY}
Linear = NDArray[np.float64]
INK = "#22313A"
#: The dark line around every mark, in the editor and on the overlay.
HALO = "#10121A"


def linear(colour: str) -> Linear:
    """Linear sRGB, 0 to 1."""
    parts = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def seen(colour: str, how: str) -> Linear:
    return np.clip(np.array(SEEN_AS[how]) @ linear(colour), 0, 1)


def luminance(rgb: Linear) -> float:
    return float(rgb @ (0.2126, 0.7152, 0.0722))


def contrast(first: str, second: str, how: str) -> float:
    low, high = sorted((luminance(seen(first, how)), luminance(seen(second, how))))
    return (high + 0.05) / (low + 0.05)


def groups_of_the_editor() -> dict[str, tuple[str, str]]:
    """Group -> (colour, shape)."""
    text = (PROJECT / "screens" / "editor" / "js" / "landmarks.js").read_text(encoding="utf-8")
    found = re.findall(r"(\w+): \{ name: [^,]+, colour: \"(#[0-9A-F]{6})\", shape: \"(\w+)\" \}", text)
    return {name: (colour, shape) for name, colour, shape in found}


def letters_of_the_editor() -> list[str]:
    text = (PROJECT / "screens" / "editor" / "js" / "landmarks.js").read_text(encoding="utf-8")
    return re.findall(r"short: \"([A-Z]+)\"", text)


def hexed(group: Group) -> str:
    return "#" + "".join(f"{part:02X}" for part in group.colour)


@pytest.mark.parametrize("how", [*MACHADO, "grey"])
def test_a_grey_stays_the_grey_that_it_is(how: str) -> None:
    # Each row of the published matrices adds up to one; a slip in copying would tint greys.
    assert seen("#808080", how) == pytest.approx(linear("#808080"), abs=1e-4)


def test_red_and_green_of_one_lightness_run_together_without_colour_and_blue_and_yellow_do_not_for_red_green_blindness() -> (
    None
):
    def apart(first: str, second: str, how: str) -> float:
        return float(np.abs(seen(first, how) - seen(second, how)).max())

    assert apart("#C04040", "#6B7A1E", "deutan") < 0.5 * apart("#C04040", "#6B7A1E", "as it is")
    assert apart("#0072B2", "#F0E442", "deutan") > 0.4


def test_no_two_groups_share_a_shape_in_the_editor_or_on_the_overlay() -> None:
    editor = groups_of_the_editor()
    assert len(editor) == 6
    assert len({shape for _colour, shape in editor.values()}) == 6
    overlay = {id(group): (group.corners, group.turn_deg) for group in GROUP_OF.values()}
    assert len(overlay) == 6
    assert len(set(overlay.values())) == 6


def test_no_two_points_share_their_letters() -> None:
    letters = letters_of_the_editor()
    assert len(letters) == len(GROUP_OF)
    assert len(set(letters)) == len(letters)


@pytest.mark.parametrize("how", list(SEEN_AS))
def test_every_mark_stands_out_from_its_own_dark_line(how: str) -> None:
    drawn = {colour for colour, _shape in groups_of_the_editor().values()} | {
        hexed(group) for group in GROUP_OF.values()
    }
    for colour in drawn:
        assert contrast(colour, HALO, how) >= 4.5, colour


def test_a_reference_is_told_from_a_persons_own_by_shape() -> None:
    markers = (PROJECT / "screens" / "editor" / "js" / "markers.js").read_text(encoding="utf-8")
    assert 'shape: pin.reference ? "tab" : "pin"' in markers
    assert 'ofReference ? "cross" : shape' in markers
    assert {shape for _colour, shape in groups_of_the_editor().values()} & {"cross", "tab", "pin"} == set()


@pytest.mark.parametrize("how", list(SEEN_AS))
def test_the_heat_map_falls_in_lightness_and_its_numbers_can_be_read(how: str) -> None:
    lights = [luminance(seen(colour, how)) for colour in HEAT]
    assert lights == sorted(lights, reverse=True)
    assert contrast(HEAT[0], HEAT[-1], how) >= 1.8
    for colour in HEAT:
        assert contrast(colour, INK, how) >= 4.5, colour


def test_the_answers_on_the_projector_have_each_a_sign_of_their_own() -> None:
    assert set(_MARKS) == set(Answer)
    for first, second in combinations(_MARKS.values(), 2):
        assert first[0] != second[0]
