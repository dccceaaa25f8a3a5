"""Both editors in a browser whose owner reads German: all their words in German, the numbers those of the English one."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from screens.language import browser_words, spoken
from tests.screens.test_cover_editor import cover_url  # noqa: F401  (the app around the cover editor)

#: Every text, name, hint and description below the editor's own root.
WORDS = """() => {
  const found = new Set();
  const walk = node => {
    if (node.nodeType === Node.TEXT_NODE) { found.add(node.textContent.trim()); return; }
    if (node.nodeName === 'STYLE') return;
    for (const name of ['aria-label', 'alt', 'title']) if (node.getAttribute?.(name)) found.add(node.getAttribute(name).trim());
    node.childNodes.forEach(walk);
  };
  for (const host of document.querySelectorAll('*')) if (host.shadowRoot?.querySelector('.editor')) walk(host.shadowRoot);
  return [...found].filter(text => text);
}"""
OPEN = "() => [...document.querySelectorAll('*')].some(node => node.shadowRoot?.querySelector('.picture')?.naturalWidth > 0)"
Open = Callable[..., Page]


@pytest.fixture
def open_in(browser: Browser) -> Iterator[Open]:
    """Opens an address in a browser of that language; at the end no script may have failed."""
    faults: list[str] = []
    contexts = []

    def opened(url: str, language: str = "de-DE") -> Page:
        contexts.append(browser.new_context(locale=language, viewport={"width": 1280, "height": 900}))
        page = contexts[-1].new_page()
        page.set_default_timeout(15_000)
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.goto(url)
        page.wait_for_function(OPEN)
        page.locator("code").first.wait_for()
        return page

    yield opened
    for context in contexts:
        context.close()
    assert faults == []


def german() -> dict[str, str | list[str]]:
    with spoken("de"):
        return browser_words()


def english_left(page: Page) -> set[str]:
    """English sentences of the editors that stand in their tree, whole or filled in."""
    shown: list[str] = page.evaluate(WORDS)
    assert len(shown) > 20
    left = set()
    for english, other in german().items():
        if other == english or len(re.sub(r"\{\w+\}|[^A-Za-z]", "", english)) < 3:
            continue
        pattern = re.compile(re.sub(r"\\\{\w+\\\}", ".+?", re.escape(english)))
        left |= {english for text in shown if pattern.fullmatch(text)}
    # The tests' own screen says its numbers in English.
    return left - {"{deg}° forward"}


@pytest.mark.parametrize(
    "query", ["start=full", "start=proposed", "blind=1", "mode=pins", "mode=look&start=full", "mode=box"]
)
def test_no_word_of_the_landmark_editor_stays_english(open_in: Open, editor_url: str, query: str) -> None:
    assert english_left(open_in(f"{editor_url}/?{query}")) == set()


def test_labels_numbers_and_what_is_read_aloud_are_german(open_in: Open, editor_url: str) -> None:
    page = open_in(f"{editor_url}/?start=full")
    expect(page.get_by_label("Foto mit seinen Punkten")).to_be_visible()
    expect(page.get_by_role("button", name="Rückgängig")).to_be_attached()
    expect(page.get_by_role("heading", name="Punkte · 8 von 12 gesetzt")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Kinn, ")).first.focus()
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Mundwinkel entfernen").click()
    expect(page.get_by_text("Mundwinkel entfernt")).to_be_attached()
    expect(page.get_by_text("braucht: Mundwinkel").first).to_be_visible()


def test_the_angles_are_the_same_in_both_languages(open_in: Open, editor_url: str) -> None:
    live = """() => [...document.querySelectorAll('*')]
      .flatMap(node => [...(node.shadowRoot?.querySelectorAll('.card') ?? [])]).map(card => card.dataset.live)"""
    english, other = (open_in(f"{editor_url}/?start=full", language).evaluate(live) for language in ("en-GB", "de-DE"))
    assert len([number for number in english if number]) == 3
    assert english == other


def test_a_change_of_language_is_taken_over_by_an_editor_that_is_open(open_in: Open, editor_url: str) -> None:
    page = open_in(f"{editor_url}/?start=full", "en-GB")
    expect(page.get_by_role("heading", name="Points · 8 of 12 placed")).to_be_visible()
    page.get_by_role("button", name="remove hip").click()
    page.get_by_role("button", name="In German").click()
    expect(page.get_by_role("heading", name="Punkte · 7 von 12 gesetzt")).to_be_visible()
    assert english_left(page) == set()
    # Once, and with what can be undone still there.
    expect(page.get_by_role("button", name="Verkleinern")).to_have_count(1)
    page.get_by_role("button", name="Rückgängig").click()
    expect(page.get_by_role("heading", name="Punkte · 8 von 12 gesetzt")).to_be_visible()


def test_the_cover_editor_is_german_and_a_cover_is_called_by_its_german_name(open_in: Open, cover_url: str) -> None:  # noqa: F811
    page = open_in(cover_url)
    page.get_by_role("button", name="Tätowierung oder Mal").click()
    page.get_by_role("button", name="Eine in der Mitte hinzufügen").click()
    expect(page.get_by_role("button", name="Abdeckung 1, Tätowierung oder Mal", exact=True)).to_be_visible()
    assert english_left(page) == set()
    page.get_by_role("button", name="Zuschneiden", exact=True).click()
    expect(page.get_by_text("Was außerhalb liegt, wird nie gespeichert.")).to_be_visible()
    assert english_left(page) == set()
    expect(page.locator("code").first).to_contain_text("tattoo")  # what is kept has no language
