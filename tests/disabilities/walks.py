"""Ways through the program that stop at every step: the name of each, while the page shows it."""

import re
from collections.abc import Iterator

from playwright.sync_api import Page

from tests.journeys.people import answer_all, begin, open_start, place, press, sample, say_when_and_where, settle
from vision.landmarks import LANDMARK_NAMES

PARTS = ("Signs and photos", "Angles", "Points on the photos", "Students", "Experts")


def main_job(page: Page, url: str) -> Iterator[str]:
    """Someone who works alone: from the start page to the feedback, then their progress and the guide."""
    truth = sample("narrow_side")
    open_start(page, url)
    yield "start"
    begin(page, truth["title"])
    say_when_and_where(page, "At the breast", "Side")
    answer_all(page, ["Seen", "Not seen", "Can't tell from this photo"])
    yield "score"
    press(page, "Next: Points and measures")
    for name in ("mouth_corner", "upper_lip_edge", "lower_lip_edge", "ear", "shoulder", "hip"):
        at = truth["landmarks"][name]
        place(page, LANDMARK_NAMES[name], at["x"], at["y"], (truth["width"], truth["height"]))
    yield "points and measures"
    press(page, "Next: Score again")
    yield "score again"
    press(page, "Next: Hand in")
    yield "hand in"
    press(page, "Hand in")
    yield "feedback"
    for name in ("progress", "guide", "consents", "my-data", "sets", "experts"):
        page.goto(f"{url}/{name}")
        settle(page)
        yield name


def review(page: Page, url: str) -> Iterator[str]:
    """An instructor: each part of the review of the example class, one student's work, the projector."""
    open_start(page, url)
    press(page, "Make the example and open its review")
    page.get_by_role("heading", name="Review: Doll photos (example)").wait_for()
    settle(page)
    work = page.url.partition("work=")[2]
    yield "what stands out"
    for part in PARTS:
        page.get_by_role("radio", name=part).click()
        settle(page)
        yield part
    page.get_by_role("radio", name="Students").click()
    settle(page)
    press(page, "Open it")
    page.get_by_role("heading", name=re.compile("^Student 1, photo")).wait_for()
    settle(page)
    yield "a student's work"
    page.goto(f"{url}/projector?work={work}")
    settle(page)
    yield "projector"
