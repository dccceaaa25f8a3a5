"""What a person does in the browser, by role and label."""

import json
import re
import sqlite3
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page, expect

from screens.samples import shipped_titles
from tests.served import PROJECT

SAMPLES = PROJECT / "sample_images"


@dataclass(frozen=True, kw_only=True)
class Server:
    """A running program: where it answers, where its data lie."""

    url: str
    data: Path
    process: subprocess.Popen[bytes]


def sample(name: str) -> dict[str, Any]:
    """The truth file of a shipped sample, with the title that students see."""
    truth: dict[str, Any] = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    return {**truth, "title": shipped_titles()[name]}


def open_start(page: Page, url: str) -> None:
    page.goto(url)
    expect(page.get_by_role("heading", name="See the latch, see the line")).to_be_visible()
    settle(page)


def settle(page: Page) -> None:
    """Wait until the page no longer reruns and what the last run left out is gone from it."""
    still = """() => document.querySelector('[data-testid=stApp]')?.getAttribute('data-test-script-state') === 'notRunning'
        && !document.querySelector('[data-stale=true]')"""
    page.wait_for_timeout(150)
    page.wait_for_function(still)


def card(page: Page, title: str) -> Locator:
    """The card of one photo on the start page."""
    return page.get_by_test_id("stColumn").filter(has=page.get_by_text(title, exact=True))


def begin(page: Page, title: str) -> None:
    """Begin on the photo with that title."""
    card(page, title).get_by_role("button", name="Practise on this photo").click()
    expect(page.get_by_role("heading", name=title)).to_be_visible()
    settle(page)


def press(page: Page, name: str) -> None:
    """Press a button and wait."""
    page.get_by_role("button", name=name, exact=True).click()
    settle(page)


def say_when_and_where(page: Page, phase: str, view: str) -> None:
    for group, option in (("When was it taken?", phase), ("From where?", view)):
        page.get_by_role("radiogroup", name=group).get_by_text(re.compile(f"^{option}")).click()
        settle(page)


def signs(page: Page) -> Locator:
    """The radio groups of the signs, in order."""
    return page.get_by_role("radiogroup", name=re.compile(r"^\d+\. "))


def answer_all(page: Page, answers: Iterable[str]) -> int:
    """Answer the signs in order, going round the given answers; returns how many there were."""
    wanted = list(answers)
    n = signs(page).count()
    for at in range(n):
        signs(page).nth(at).get_by_text(wanted[at % len(wanted)], exact=True).click()
        settle(page)
    return n


def pictures_shown(page: Page) -> int:
    """How many pictures the page shows; every one of them must have arrived, and none through Streamlit's own store."""
    pictures = page.locator("img:visible")
    expect(pictures.first).to_be_visible()
    sizes: list[list[Any]] = []
    for _ in range(600):
        # Cards further down load as they come into sight; here all are to be seen, also those that a rerun drew anew.
        pictures.evaluate_all("all => all.forEach(i => { i.loading = 'eager'; })")
        # Playwright looks into shadow trees, which document.images does not.
        sizes = pictures.evaluate_all("all => all.map(i => [i.complete ? i.naturalWidth : null, i.src])")
        if all(width is not None for width, _ in sizes):
            break
        page.wait_for_timeout(100)
    assert all(width for width, _ in sizes), sizes
    assert not [src for _, src in sizes if "/media/" in src]
    return len(sizes)


def photo_frame(page: Page) -> dict[str, float]:
    """Where the editor's photo lies on the page."""
    box = page.get_by_role("img", name="practice photo").bounding_box()
    assert box is not None
    return {"x": box["x"], "y": box["y"], "width": box["width"], "height": box["height"]}


def on_page(page: Page, x: float, y: float, size: tuple[int, int]) -> tuple[float, float]:
    """Page coordinates of a place given in pixels of the photo."""
    frame = photo_frame(page)
    return frame["x"] + x / size[0] * frame["width"], frame["y"] + y / size[1] * frame["height"]


def place(page: Page, name: str, x: float, y: float, size: tuple[int, int]) -> None:
    """Choose a point in the list and click its place on the photo."""
    page.get_by_role("button", name=f"place {name}", exact=True).click()
    page.get_by_role("img", name="practice photo").scroll_into_view_if_needed()
    left, top = on_page(page, x, y, size)
    page.mouse.click(left, top)
    settle(page)


def rows(data: Path, query: str) -> list[tuple[Any, ...]]:
    """What the database holds, read past the program."""
    with sqlite3.connect(f"file:{data / 'records.sqlite3'}?mode=ro", uri=True) as connection:
        return connection.execute(query).fetchall()


PASSWORD = "quiet river stones"


def first_account(page: Page, url: str, handle: str = "heron", password: str = PASSWORD) -> None:
    """Open a school: make the first account, which holds all roles, and be signed in."""
    page.goto(f"{url}/first-account")
    page.get_by_label("Name you go by here").fill(handle)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_label("The same once more").fill(password)
    page.get_by_role("button", name="Open the school").click()
    expect(page.get_by_text(f"Signed in as {handle}")).to_be_visible()
    settle(page)


def sign_in(page: Page, url: str, handle: str, password: str = PASSWORD) -> None:
    """Sign in with an account that is there."""
    page.goto(f"{url}/sign-in")
    page.get_by_label("Name you go by here").fill(handle)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_text(f"Signed in as {handle}")).to_be_visible()
    settle(page)


def join(page: Page, url: str, code: str, handle: str, password: str = PASSWORD) -> None:
    """Make a student's account by a class code, and be signed in."""
    page.goto(f"{url}/join")
    page.get_by_label("Class code").fill(code)
    page.get_by_label("Name you go by here").fill(handle)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_label("The same once more").fill(password)
    page.get_by_role("button", name="Make an account and join").click()
    expect(page.get_by_text(f"Signed in as {handle}")).to_be_visible()
    settle(page)


def sign_out(page: Page) -> None:
    """Sign out by the link in the header."""
    page.get_by_role("button", name="Sign out", exact=True).click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
