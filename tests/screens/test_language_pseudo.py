"""Every page with all that is marked set in brackets: what stands outside them was not marked, or was glued together."""

import gettext
import re
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
import set_scene
from set_scene import data_folder
from streamlit.testing.v1 import AppTest

from records.attempt.attempts import start_attempt
from records.photo.photos import list_photos
from screens import data, language
from screens.classes.example_class import open_example_class

page = partial(set_scene.page, patience_s=90)
TEXTS = ("title", "header", "subheader", "markdown", "error", "warning", "info", "success", "caption", "text")
WIDGETS = (
    "button",
    "radio",
    "selectbox",
    "checkbox",
    "toggle",
    "text_input",
    "text_area",
    "number_input",
    "multiselect",
)
#: Names that no language changes, and what the invented school is called.
NAMES = re.compile(r"Latch and Line|English|Deutsch|Linden Room \(example\)|Doll photos \(example\)|FSRS|PDF")


class Brackets(gettext.NullTranslations):
    """A language in which each sentence is the English one in brackets."""

    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"


@pytest.fixture(autouse=True)
def brackets(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path))
    monkeypatch.setattr(language, "_catalogue", lambda _domain, _language: Brackets())
    with data_folder():
        yield


def words_on(test: AppTest) -> Iterator[str]:
    """All words on the page: texts, labels, choices, hints."""
    for kind in TEXTS:
        yield from (str(element.value) for element in test.get(kind))
    for html in test.get("html"):
        body = re.sub(r"<(style|script)\b.*?</\1>", " ", html.proto.body, flags=re.S)
        yield from re.findall(r'(?:alt|aria-label|title|placeholder)="([^"]*)"', body)
        yield re.sub(r"<[^>]*>", " ", body)
    for kind in WIDGETS:
        for element in test.get(kind):
            yield from (str(element.label), str(element.proto.help), *map(str, getattr(element, "options", ())))
    yield from (str(block.label) for kind in ("expander", "tab") for block in test.get(kind))


def outside(text: str) -> str:
    """What stands outside all brackets."""
    while (without := re.sub(r"⟦[^⟦⟧]*⟧", "", text)) != text:
        text = without
    return NAMES.sub("", text)


def unmarked(test: AppTest) -> set[str]:
    """The texts that have words outside the brackets; material names in colons are pictures, not words."""
    return {
        text.strip() for text in words_on(test) if re.search(r"[A-Za-z]{3,}", re.sub(r":\w+/\w+:", "", outside(text)))
    }


@pytest.mark.parametrize(
    "name",
    [
        "start",
        "practise",
        "feedback",
        "progress",
        "sets",
        "many-photos",
        "experts",
        "consents",
        "my-data",
        "account",
        "people",
    ],
)
def test_nothing_on_the_page_stands_outside_the_brackets(name: str) -> None:
    assert unmarked(page("" if name == "start" else name)) == set()


def test_nothing_at_work_on_a_photo_stands_outside_the_brackets() -> None:
    photo = list_photos(data.store(), data.me())[0]
    attempt = start_attempt(data.store(), data.me(), photo.id)
    test = page("practise", attempt=attempt.id)
    for group in test.radio[:2]:
        group.set_value(group.proto.options and group.options[0])
    assert unmarked(test) == set()


def test_nothing_in_the_review_of_a_class_stands_outside_the_brackets() -> None:
    example = open_example_class(data.store(), data.me(), data.checklist())
    assert unmarked(page("review", work=example.work_id)) == set()


def test_a_text_that_is_not_marked_is_seen() -> None:
    assert outside("⟦Photo {n}⟧ of ⟦{total} ⟦photos⟧⟧").strip() == "of"
