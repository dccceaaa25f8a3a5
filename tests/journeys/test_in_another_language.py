"""The main job in German: chosen by the browser or by the person, from the start to the feedback, with no English of ours left."""

import re
from collections.abc import Callable, Iterator
from string import Formatter

import pytest
from playwright.sync_api import Browser, Page, expect

from screens.language import _ as in_page_language
from screens.language import spoken
from screens.samples import shown_title
from tests import make_catalogues
from tests.journeys.people import Server, answer_all, press, sample, settle, signs

PHOTO = "cradle_side"
#: What Streamlit calls parts of its own widgets, in English only, and we call other things too.
STREAMLITS_OWN = frozenset({"Open", "Close"})
#: Text, names, hints and descriptions of all that is drawn, also inside the editors' own trees.
ALL_WORDS = """() => {
  const found = new Set();
  const walk = node => {
    if (node.nodeType === Node.TEXT_NODE) { found.add(node.textContent.trim()); return; }
    if (node.nodeType !== Node.ELEMENT_NODE && node.nodeType !== Node.DOCUMENT_FRAGMENT_NODE) return;
    if (['STYLE', 'SCRIPT', 'NOSCRIPT'].includes(node.nodeName)) return;
    for (const name of ['aria-label', 'alt', 'title', 'placeholder']) {
      if (node.getAttribute?.(name)) found.add(node.getAttribute(name).trim());
    }
    if (node.shadowRoot) walk(node.shadowRoot);
    node.childNodes.forEach(walk);
  };
  walk(document.body);
  return [...found].filter(text => text);
}"""


def german(sentence: str) -> str:
    """One of our sentences as the German page says it."""
    with spoken("de"):
        return in_page_language(sentence)


def patterns() -> list[tuple[str, re.Pattern[str]]]:
    """Every sentence of ours that German says otherwise, as what it looks like on a page."""
    made = []
    for domain in ("messages", "browser"):
        for message in make_catalogues.read("de", domain):
            english = [message.id] if isinstance(message.id, str) else list(message.id)
            other = [message.string] if isinstance(message.string, str) else list(message.string)
            for text in english if message.id else ():
                # A few words are the same in both, such as "Start".
                letters = "".join(part for part, *_rest in Formatter().parse(text))
                if text not in other and text not in STREAMLITS_OWN and len(re.findall(r"[A-Za-z]", letters)) > 3:
                    parts = [re.escape(part) + ("" if name is None else ".+?") for part, name, *_rest in _parsed(text)]
                    made.append((text, re.compile("".join(parts), re.DOTALL)))
    return made


def _parsed(text: str) -> Iterator[tuple[str, str | None]]:
    for part, name, _spec, _conversion in Formatter().parse(text):
        yield part, name


def english_left(page: Page, ours: list[tuple[str, re.Pattern[str]]]) -> list[str]:
    """What stands on the page and is one of our English sentences, or holds a long one."""
    words: list[str] = page.evaluate(ALL_WORDS)
    return sorted(
        {
            f"{text!r} in {seen[:80]!r}"
            for seen in words
            for text, pattern in ours
            if (pattern.search(seen) if len(text) > 25 else pattern.fullmatch(seen))
        }
    )


@pytest.fixture
def german_page(browser: Browser, run_program: Callable[[], Server]) -> Iterator[Page]:  # noqa: ARG001  (closed before the program)
    """A page of a browser whose owner reads German."""
    context = browser.new_context(locale="de-DE", viewport={"width": 1360, "height": 900})
    tab = context.new_page()
    tab.set_default_timeout(20_000)
    yield tab
    context.close()


def expect_language(page: Page, language: str) -> None:
    """Wait until the document says that it is in this language; the page's own script tells it after the first draw."""
    page.wait_for_function("language => document.documentElement.lang === language", arg=language)


def open_german_start(page: Page, url: str) -> None:
    page.goto(url)
    expect(page.get_by_role("heading", name=german("See the latch, see the line"))).to_be_visible()
    settle(page)


def test_the_main_job_in_german_shows_no_english_sentence_of_ours(
    german_page: Page, run_program: Callable[[], Server]
) -> None:
    page, ours, left = german_page, patterns(), dict[str, list[str]]()
    assert len(ours) > 1000
    open_german_start(page, run_program().url)
    expect_language(page, "de")
    left["start"] = english_left(page, ours)

    title = sample(PHOTO)["title"]
    with spoken("de"):
        title = shown_title(title)
    chosen = page.get_by_test_id("stColumn").filter(has=page.get_by_text(title, exact=True))
    chosen.get_by_role("button", name=german("Practise on this photo")).click()
    expect(page.get_by_role("heading", name=title)).to_be_visible()
    settle(page)
    for group, option in (("When was it taken?", "At the breast: the mouth is on it"),
                          ("From where?", "Side: square to the baby's own side")):  # fmt: skip
        page.get_by_role("radiogroup", name=german(group)).get_by_text(german(option)).click()
        settle(page)
    left["before an answer"] = english_left(page, ours)
    words = [german(text) for text in ("seen", "can't tell from this photo", "not seen")]
    assert answer_all(page, [word[0].upper() + word[1:] for word in words]) == 10
    left["score"] = english_left(page, ours)

    press(page, f"{german('Next: {step}').format(step=german('Points and measures'))}")
    press(page, german("Propose points"))
    left["measure"] = english_left(page, ours)
    press(page, german("Next: {step}").format(step=german("Score again")))
    assert signs(page).count() == 10
    left["score again"] = english_left(page, ours)
    press(page, german("Next: {step}").format(step=german("Hand in")))
    left["hand in"] = english_left(page, ours)
    press(page, german("Hand in"))
    expect(page.get_by_role("heading", name=german("Feedback: {photo}").format(photo=title))).to_be_visible()
    settle(page)
    left["feedback"] = english_left(page, ours)
    page.get_by_role("link", name=german("My progress"), exact=True).first.click()
    expect(page.get_by_role("heading", name=german("My progress"))).to_be_visible()
    settle(page)
    left["progress"] = english_left(page, ours)
    assert [f"{where}: {one}" for where, found in left.items() for one in found] == []


def test_a_person_chooses_another_language_and_comes_back_to_the_same_place(
    german_page: Page, run_program: Callable[[], Server]
) -> None:
    page = german_page
    server = run_program()
    page.goto(f"{server.url}/progress?from=here")
    expect(page.get_by_role("heading", name=german("My progress"))).to_be_visible()
    page.get_by_role("button", name="English", exact=True).click()
    expect(page.get_by_role("heading", name="My progress")).to_be_visible()
    settle(page)
    expect_language(page, "en")
    assert page.url.startswith(f"{server.url}/progress")
    # The choice holds on the pages of the door too, and on a page that is opened later.
    page.goto(f"{server.url}/first-account")
    expect(page.get_by_role("heading", name="Open a school on this computer")).to_be_visible()
    page.get_by_role("button", name="Deutsch", exact=True).click()
    expect(page.get_by_role("heading", name=german("Open a school on this computer"))).to_be_visible()
    assert english_left(page, patterns()) == []
    open_german_start(page, server.url)
    expect_language(page, "de")
