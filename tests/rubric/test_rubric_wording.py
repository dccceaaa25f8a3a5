"""No wording of this package judges: it says what is seen, measured and agreed."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import rubric

FOLDER = Path(rubric.__file__).parent

#: Whole words, with their endings, that would judge a person or a latch, or name a condition.
JUDGING = re.compile(
    r"\b(good|bad|badly|better|best|worse|worst|poor|poorly|fail\w*|normal\w*|abnormal\w*|correct\w*|incorrect\w*"
    r"|wrong\w*|right answer\w*|lazy|lazily|diagnos\w*|disorder\w*|syndrome\w*|patholog\w*|tongue[- ]tie\w*|healthy"
    r"|score\w*|mark\w*|grade\w*|pass|passed|success\w*|mistake\w*|error\w*|ideal|perfect|proper\w*|improper\w*)\b",
    re.IGNORECASE,
)


def _texts_of_toml() -> Iterator[str]:
    def walk(value: object) -> Iterator[str]:
        if isinstance(value, str):
            yield value
        elif isinstance(value, dict):
            for part in value.values():
                yield from walk(part)
        elif isinstance(value, list):
            for part in value:
                yield from walk(part)

    yield from walk(tomllib.loads((FOLDER / "checklist.toml").read_text(encoding="utf-8")))


def _texts_of_code(path: Path) -> Iterator[str]:
    """Every string of a module but its docstrings, which are for its readers."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
            yield node.value


#: "standard error" is a term of statistics, not of people.
ALLOWED = re.compile(r"standard error", re.IGNORECASE)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.py")), ids=lambda path: path.name)
def test_no_string_of_the_code_judges(path):
    """Whatever a module may put on a screen describes and compares."""
    texts = list(_texts_of_code(path))
    assert [text for text in texts if JUDGING.search(ALLOWED.sub("", text))] == []


def test_no_wording_of_the_checklist_judges():
    texts = list(_texts_of_toml())
    assert len(texts) > 150
    assert [text for text in texts if JUDGING.search(text)] == []


@pytest.mark.parametrize("text", ["a Good latch", "this is wrong.", "Failed", "the diagnosis", "abnormal"])
def test_the_search_finds_judging_words(text):
    assert JUDGING.search(text)


def test_the_wording_of_items_is_short_and_plain():
    for text in tomllib.loads((FOLDER / "checklist.toml").read_text(encoding="utf-8"))["item"]:
        assert len(text["text"].split()) <= 22
        assert text["text"].endswith("?" if not text.get("visible", True) else ".")
