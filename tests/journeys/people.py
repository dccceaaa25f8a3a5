"""What a person does in the browser, by role and label."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect


def open_start(page: Page, url: str) -> None:
    page.goto(url)
    expect(page.get_by_role("heading", name="See the latch, see the line")).to_be_visible()


def settle(page: Page) -> None:
    """Wait until the page no longer reruns."""
    page.wait_for_function(
        "document.querySelector('[data-testid=stApp]')?.getAttribute('data-test-script-state') === 'notRunning'"
    )


def begin(page: Page, title: str) -> None:
    """Begin on the photo with that title."""
    card = page.locator("[data-testid=stVerticalBlock]").filter(has=page.get_by_text(title, exact=True)).last
    card.get_by_role("button", name="Practise on this photo").click()
    expect(page.get_by_role("heading", name=title)).to_be_visible()


def choose(page: Page, group: str | re.Pattern[str], option: str) -> None:
    """Choose one of a group of radio buttons."""
    page.get_by_role("radiogroup", name=group).get_by_text(option, exact=True).click()
    settle(page)


def say_when_and_where(page: Page, phase: str, view: str) -> None:
    for group, option in (("When was it taken?", phase), ("From where?", view)):
        page.get_by_role("radiogroup", name=group).get_by_text(re.compile(f"^{option}")).click()
        settle(page)


def answer_all(page: Page, answers: Iterable[str]) -> int:
    """Answer the signs in order, going round the given answers; returns how many there were."""
    wanted = list(answers)
    groups = page.get_by_role("radiogroup", name=re.compile(r"^\d+\. "))
    n = groups.count()
    for at in range(n):
        groups.nth(at).get_by_text(wanted[at % len(wanted)], exact=True).click()
        settle(page)
    return n


def pictures_shown(page: Page) -> int:
    """How many pictures the page shows; every one of them must have arrived."""
    page.wait_for_function("[...document.images].every(i => i.complete)")
    sizes: list[int] = page.evaluate("[...document.images].map(i => i.naturalWidth)")
    assert sizes, "no picture on this page"
    assert all(size > 0 for size in sizes)
    return len(sizes)


@dataclass(frozen=True, kw_only=True)
class Board:
    """The editor on the page."""

    root: Locator
