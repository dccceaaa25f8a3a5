"""Covering what must not be shown, by keys and by ear: names, a ring, one thing said for each thing done, forced colours."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.disabilities.rendered import focus_of, small_targets, weak_edges, weak_text
from tests.served import PROJECT, serve, stop


@pytest.fixture(scope="module")
def cover_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    log = tmp_path_factory.mktemp("covers") / "server.log"
    app = Path(__file__).resolve().parent.parent / "screens" / "cover_editor_app.py"
    url, process = serve(str(app), log, {"PYTHONPATH": str(PROJECT)})
    yield url
    stop(process)


@pytest.fixture
def opened(browser: Browser, cover_url: str) -> Iterator[Callable[..., Page]]:
    contexts = []

    def opened(query: str = "", **options: str) -> Page:
        contexts.append(browser.new_context(viewport={"width": 1280, "height": 900}, **options))  # type: ignore[arg-type]
        tab = contexts[-1].new_page()
        tab.goto(f"{cover_url}/?{query}")
        tab.get_by_role("group", name="Photo with its covers").wait_for()
        return tab

    yield opened
    for context in contexts:
        context.close()


def test_a_cover_is_added_moved_and_removed_by_keys_and_each_is_said_once(opened: Callable[..., Page]) -> None:
    page = opened()
    voice = page.locator("p.live")
    expect(voice).to_have_role("status")
    page.get_by_role("button", name="Add one in the middle").focus()
    page.keyboard.press("Enter")
    expect(voice).to_have_text("Cover 1, face added.")
    at = focus_of(page)
    assert at["name"].startswith("Cover 1, face")
    assert at["ring"]
    before = page.get_by_role("button", name="Cover 1, face. Arrow keys move it").bounding_box()
    for _ in range(20):
        page.keyboard.press("Shift+ArrowRight")
    after = page.get_by_role("button", name="Cover 1, face. Arrow keys move it").bounding_box()
    assert before is not None
    assert after is not None
    assert after["x"] > before["x"] + 20
    # Nothing more is said on the way.
    assert voice.inner_text() == "Cover 1, face added."
    page.keyboard.press("Delete")
    expect(voice).to_have_text("Cover 1, face removed.")
    assert "stage" in focus_of(page)["classes"]


def test_tab_goes_through_the_editor_and_out_again_with_a_ring_at_each_stop(opened: Callable[..., Page]) -> None:
    page = opened("card=yes&proposal=yes")
    page.get_by_role("group", name="Photo with its covers").focus()
    inside = 0
    for _ in range(80):
        page.keyboard.press("Tab")
        stop_at = focus_of(page)
        if not stop_at["inEditor"]:
            break
        inside += 1
        assert stop_at["name"] or stop_at["tag"] in ("INPUT", "SELECT"), stop_at
        assert stop_at["ring"], stop_at
    assert not stop_at["inEditor"]
    assert inside > 8


def test_words_edges_and_targets_are_large_and_plain_enough(opened: Callable[..., Page]) -> None:
    page = opened("card=yes&proposal=yes")
    page.get_by_role("button", name="Cover 1, name").first.click()
    page.wait_for_timeout(300)
    assert weak_text(page) == []
    assert weak_edges(page) == []
    assert small_targets(page) == []


def test_in_forced_colours_the_chosen_cover_and_the_focus_have_outlines(opened: Callable[..., Page]) -> None:
    page = opened("card=yes", forced_colors="active")
    button = page.locator(".areabutton").first
    button.focus()
    page.keyboard.press("ArrowRight")
    assert button.evaluate("e => getComputedStyle(e).outlineStyle") == "solid"
    assert button.evaluate("e => parseFloat(getComputedStyle(e).outlineWidth)") >= 3
