"""Every page of the main job and of the review, as people meet it who cannot see it, see little, or use keys.

One walk each: at every step the same things are asked of the page that a browser has drawn.
"""

import re
from collections.abc import Callable
from itertools import pairwise

import pytest
from playwright.sync_api import Page, expect

from tests.disabilities import walks
from tests.disabilities.rendered import heading_levels, sideways, small_targets, weak_edges, weak_text
from tests.journeys.by_keys import Keys
from tests.journeys.people import Server, begin, open_start, press, sample, say_when_and_where, settle

#: A phone, the narrowest page that WCAG asks for, and a laptop at 200 %.
WIDTHS = ((390, 800), (320, 640), (680, 450))
WIDE = {"width": 1360, "height": 900}
#: Roles of what a person uses; each must have a name.
_NAMELESS = re.compile(r"\s*- (button|checkbox|combobox|img|link|radio|slider|switch|textbox|spinbutton)(:| \[|$)")


_SLOW = """() => {
  const takes = (style) => [style.transitionDuration, style.animationDuration].flatMap((all) => all.split(',').map(parseFloat));
  const slow = (node) => takes(getComputedStyle(node)).some((seconds) => seconds > 0.001);
  return [...document.querySelectorAll('*')].filter(slow).map((node) => node.className);
}"""


def look_at(page: Page, step: str) -> list[str]:
    """What is amiss at this step."""
    settle(page)
    page.wait_for_timeout(900)  # charts come a while after the page is still, on a busy machine a long while
    for _ in range(20):
        if not _tree(page):
            break
        page.wait_for_timeout(500)
    amiss = [
        *_tree(page),
        *(f"contrast {one}" for one in weak_text(page)),
        *(f"edge {one}" for one in weak_edges(page)),
    ]
    amiss += [f"small {one}" for one in small_targets(page)]
    for width, height in WIDTHS:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(700)
        amiss += [f"at {width}: {one}" for one in sideways(page)]
    page.set_viewport_size(WIDE)
    page.wait_for_timeout(400)
    return [f"{step}: {one}" for one in amiss]


def _tree(page: Page) -> list[str]:
    tree = page.locator("body").aria_snapshot()
    amiss = [f"no name: {line.strip()}" for line in tree.splitlines() if _NAMELESS.match(line)]
    if page.get_by_role("heading", level=1).count() != 1:
        amiss.append(f"{page.get_by_role('heading', level=1).count()} headings of level 1")
    for role in ("main", "navigation"):
        if page.get_by_role(role).count() != 1:  # type: ignore[arg-type]
            amiss.append(f"{page.get_by_role(role).count()} landmarks {role}")  # type: ignore[arg-type]
    levels = heading_levels(page)
    amiss += [f"heading {a} then {b}" for a, b in pairwise(levels) if b > a + 1]
    if re.search(r"keyboard_|expand_more|Link to heading", tree):
        amiss.append("letters of an icon, or a link of a heading, are read out")
    return amiss


@pytest.fixture
def server(run_program: Callable[[], Server]) -> Server:
    return run_program()


def test_the_main_job(page: Page, server: Server) -> None:
    page.set_default_timeout(60_000)
    amiss = [one for step in walks.main_job(page, server.url) for one in look_at(page, step)]
    assert not amiss, "\n".join(amiss)


def test_the_review(page: Page, server: Server) -> None:
    page.set_default_timeout(60_000)
    amiss: list[str] = []
    for step in walks.review(page, server.url):
        amiss += look_at(page, step)
        charts = page.get_by_test_id("stVegaLiteChart")
        if charts.count() and not page.get_by_text(re.compile("as a table")).count():
            amiss.append(f"{step}: a chart has no table")
        if step == "a student's work":
            # Whose pins these are: the reader is not the one who set them.
            expect(page.get_by_text("reference pins: square")).to_be_visible()
            expect(page.get_by_text(re.compile("your pins|^yours"))).to_have_count(0)
    assert not amiss, "\n".join(amiss)


def test_an_instructor_reads_the_review_by_keys_alone(page: Page, server: Server) -> None:
    page.set_default_timeout(60_000)
    open_start(page, server.url)
    keys = Keys(page=page)
    keys.tab_to("Make the example and open its review")
    keys.enter()
    expect(page.get_by_role("heading", name="Review: Doll photos (example)")).to_be_visible()
    keys.rest()
    assert keys.here()["name"] == "Review: Doll photos (example)"
    keys.tab_to("What stands out")
    keys.press("ArrowRight")
    settle(page)
    keys.press("Space")
    settle(page)
    expect(page.get_by_role("radio", name="Signs and photos")).to_be_checked()
    assert keys.here()["name"] == "Signs and photos"
    keys.tab_to(".*The same as a table")
    keys.enter()
    expect(page.get_by_role("table").first).to_be_visible()
    # On a phone the chart is moved by arrows inside its own box.
    page.set_viewport_size({"width": 390, "height": 800})
    page.wait_for_timeout(900)
    stop = keys.tab_to("Agree with the key, by sign and photo.*moves sideways", back=True)
    assert stop["ring"]
    moved = "() => document.activeElement.scrollLeft"
    keys.press("ArrowRight", 5)
    page.wait_for_timeout(500)
    assert page.evaluate(moved) > 50
    assert not [stop for stop in keys.stops if stop["tag"] == "BODY"]


def test_a_rerun_that_takes_the_focus_away_gives_it_to_what_is_left_beside(page: Page, server: Server) -> None:
    truth = sample("narrow_side")
    open_start(page, server.url)
    begin(page, truth["title"])
    say_when_and_where(page, "At the breast", "Side")
    keys = Keys(page=page)
    page.get_by_role("radiogroup", name=re.compile(r"^1\. ")).get_by_text("Seen", exact=True).click()
    settle(page)
    page.get_by_label("Photo with its points").click()
    settle(page)
    remove = page.get_by_role("button", name="Remove the mark")
    remove.focus()
    page.keyboard.press("Enter")
    expect(remove).to_have_count(0)
    keys.rest()
    # Still within the card of that sign.
    within = page.evaluate("() => document.activeElement.closest('[data-testid=stVerticalBlock]').textContent")
    assert within.startswith("1. ")


def test_nothing_moves_by_itself_and_the_page_keeps_its_colours_for_whoever_asked_for_that(
    page: Page, server: Server
) -> None:
    page.emulate_media(reduced_motion="reduce", color_scheme="dark")
    open_start(page, server.url)
    slow = page.evaluate(_SLOW)
    assert slow == []
    # One theme for all: a dark system does not turn half of the page dark.
    assert (
        page.evaluate("getComputedStyle(document.querySelector('[data-testid=stApp]')).backgroundColor")
        == "rgb(251, 248, 243)"
    )
    assert weak_text(page) == []


def test_what_proposing_found_is_said_aloud(page: Page, server: Server) -> None:
    truth = sample("narrow_side")
    page.set_default_timeout(60_000)
    open_start(page, server.url)
    begin(page, truth["title"])
    say_when_and_where(page, "At the breast", "Side")
    press(page, "Next: Points and measures")
    press(page, "Propose points")
    expect(
        page.locator("[role=status]", has_text=re.compile(r"^\d+ points? proposed; check each one")).first
    ).to_be_attached()


def test_on_a_phone_the_pages_are_reached_by_keys_and_the_way_there_has_a_name(page: Page, server: Server) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    open_start(page, server.url)
    page.wait_for_timeout(600)
    keys = Keys(page=page)
    keys.tab_to("Show the pages", most=6)
    assert [stop["name"] for stop in keys.stops] == ["Skip to the content", "Show the pages"]
    page.keyboard.press("Enter")
    expect(page.get_by_role("navigation", name="Pages")).to_be_visible()
    keys.tab_to("My progress", back=True, most=20)
    keys.enter()
    expect(page.get_by_role("heading", name="My progress", level=1)).to_be_visible()
    keys.rest()
