"""An instructor's review in the browser: the planted sign in one click, a student's work handed back, the second try counts."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from records.attempt.attempts import Order
from records.classroom import class_work
from rubric.checklist import shipped_checklist
from screens.classes.example_class import WEAK_ITEM
from tests.journeys.people import (
    Server,
    answer_all,
    open_start,
    pictures_shown,
    press,
    say_when_and_where,
    settle,
    sign_in,
    signs,
)
from tests.journeys.school import give, open_school, records_of, student, works

NAMES = ("cradle_side", "medium_side", "narrow_side")


@pytest.fixture
def another(browser: Browser, run_program: Callable[[], Server]) -> Iterator[Callable[[], Page]]:  # noqa: ARG001
    """Opens a page in a browser profile of its own."""
    contexts = []

    def opened() -> Page:
        contexts.append(browser.new_context(viewport={"width": 1360, "height": 900}))
        tab = contexts[-1].new_page()
        tab.set_default_timeout(30_000)
        return tab

    yield opened
    for context in contexts:
        context.close()


def words_of(item_id: str) -> str:
    item = shipped_checklist().get(item_id)
    assert item is not None
    return item.text


def test_the_planted_weak_sign_is_one_click_from_the_first_screen(
    page: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    page.set_default_timeout(60_000)
    open_start(page, server.url)
    press(page, "Make the example and open its review")
    expect(page.get_by_role("heading", name="Review: Doll photos (example)")).to_be_visible()
    settle(page)
    # One click, of the three that an instructor may need.
    expect(page.get_by_text(words_of(WEAK_ITEM), exact=True).first).to_be_visible()
    expect(page.get_by_text(re.compile(r"of the answers to this sign differ from the key")).first).to_be_visible()
    assert pictures_shown(page) >= 3
    page.get_by_role("button", name="Open on the projector").first.click()
    settle(page)
    expect(page.get_by_role("heading", name=re.compile(r"^Photo \d+$"))).to_be_visible()
    spread = page.get_by_role("img", name=re.compile(r"seen: \d+"))
    expect(spread).to_have_count(1)
    assert "Student" not in page.locator("[data-testid=stMain]").inner_text()
    expect(page.get_by_text("The key:")).to_have_count(0)
    page.get_by_text("Show the key").click()
    settle(page)
    expect(page.get_by_text(re.compile("^The key: "))).to_be_visible()


def test_from_the_review_a_work_is_commented_handed_back_and_the_second_try_counts(
    page: Page, another: Callable[[], Page], run_program: Callable[[], Server], tmp_path: Path
) -> None:
    with records_of(tmp_path / "data") as store:
        school = open_school(store, NAMES)
        wren = student(store, school, "wren")
        work = give(store, school, order=Order.MEASURE_FIRST)
        first_try = works(store, school, wren, work, 1, apart=2)
    server = run_program()
    sign_in(page, server.url, "heron")
    page.get_by_role("link", name="Classes", exact=True).click()
    settle(page)
    press(page, "Open")
    press(page, "Review")
    expect(page.get_by_role("heading", name="Review: Week 2")).to_be_visible()
    expect(page.get_by_text("1 of 3 handed in")).to_be_visible()
    page.get_by_role("radio", name="Students").or_(page.get_by_role("button", name="Students")).first.click()
    settle(page)
    students = page.get_by_role("table", name="Students", exact=True)
    before = students.get_by_role("row").nth(1).inner_text()
    press(page, "Open it")
    expect(page.get_by_role("heading", name="Student 1, photo 1 of 3")).to_be_visible()
    settle(page)
    page.get_by_role("button", name="Comment", exact=True).first.click()
    page.get_by_label("The student sees it at once").last.fill("Lay a ruler along ear, shoulder and hip.")
    press(page, "Add the comment")
    expect(page.get_by_text("Lay a ruler along ear, shoulder and hip.")).to_be_visible()
    press(page, "Hand back")
    press(page, "Hand it back")
    expect(page.get_by_text("Handed back for another try")).to_be_visible()

    tab = another()
    sign_in(tab, server.url, "wren")
    tab.goto(f"{server.url}/my-work?work={work}")
    settle(tab)
    press(tab, "Try photo 1 again")
    expect(tab.get_by_text("Try 2: the earlier one is kept.")).to_be_visible()
    press(tab, "Next: Score")
    say_when_and_where(tab, "At the breast", "Side")
    expect(signs(tab).first).to_be_visible()  # on a busy machine the signs come a while after the view was said
    assert answer_all(tab, ["Seen"]) > 0
    press(tab, "Next: Hand in")
    press(tab, "Hand in")
    expect(tab.get_by_role("heading", name=re.compile("^Feedback: photo"))).to_be_visible()

    page.goto(f"{server.url}/review?work={work}")
    expect(page.get_by_text("1 of 3 handed in")).to_be_visible()
    settle(page)
    page.get_by_role("radio", name="Students").or_(page.get_by_role("button", name="Students")).first.click()
    settle(page)
    assert students.get_by_role("row").nth(1).inner_text() != before
    press(page, "Open it")
    expect(page.get_by_text(" Try 2.")).to_be_visible()
    press(page, "Done, and on to the next")
    expect(page.get_by_text("1 handed in, 1 of them done.")).to_be_visible()
    with records_of(server.data) as store:
        latest = class_work.answers_of(store, school.instructor, work).latest()
        assert [(one.try_number, one.review) for one in latest] == [(2, "done")]
        assert latest[0].attempt_id != first_try
        assert {answer.answer for answer in latest[0].final.answers.values()} == {"seen"}
