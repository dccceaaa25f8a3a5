"""The guides are true to the program: their pictures exist, and what they call a button or an answer is called so on screen."""

import ast
import re
from pathlib import Path

import pytest
from PIL import Image

from screens.guide.texts import ADDRESS, FOLDER, GUIDES, PICTURES, text_of
from screens.practice import placing
from screens.words import ANSWERS

SCREENS = Path(placing.__file__).parent.parent


def said_on_screen() -> str:
    """Every string in the sources of the screens, of the words that they show, and of the records' sentences."""
    said = [path.read_text(encoding="utf-8") for path in SCREENS.rglob("*.js")]
    for path in (
        *SCREENS.rglob("*.py"),
        *(SCREENS.parent / "rubric").glob("words.py"),
        *(SCREENS.parent / "records").rglob("*.py"),
    ):
        said += [
            node.value
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        ]
    return "\n".join([*said, *ANSWERS.values()])


def test_every_picture_of_the_guides_is_there_described_and_used() -> None:
    found = {}
    for name in GUIDES:
        found |= {picture: words for words, picture in re.findall(rf"!\[([^]]*)\]\({ADDRESS}/([^)]+)\)", text_of(name))}
        assert "](../" not in text_of(name)
    assert set(found) == {path.name for path in PICTURES.iterdir()}
    assert all(len(words) > 20 for words in found.values())


def test_the_pictures_together_stay_small() -> None:
    assert sum(path.stat().st_size for path in PICTURES.iterdir()) < 2_000_000
    for path in PICTURES.iterdir():
        with Image.open(path) as picture:
            assert picture.size == (1180, 820)


@pytest.mark.parametrize("name", GUIDES)
def test_what_a_guide_calls_a_button_or_an_answer_is_called_so_on_screen(name: str) -> None:
    said = said_on_screen()
    # Within a line of a guide a word between stars that begins with a capital is a name on screen.
    named = re.findall(r"(?<!\*)\*([A-Z][^*\n]+)\*(?!\*)", text_of(name))
    assert [words for words in named if words not in said] == []
    assert name in {"safety", "school"} or len(named) >= 3


def test_a_language_that_nobody_wrote_falls_back_to_english_and_an_unknown_guide_is_none() -> None:
    assert text_of("safety", "xx") == text_of("safety")
    with pytest.raises(KeyError):
        text_of("../../secrets")
    assert {path.stem for path in (FOLDER / "en").glob("*.md")} == set(GUIDES)
