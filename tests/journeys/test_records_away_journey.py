"""In the browser: the records go away while a student scores, and come back."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.journeys.people import Server, begin, open_start, press, rows, sample, say_when_and_where, settle, signs

AWAY = re.compile("no longer where it was")


@pytest.fixture
def patient_page(browser: Browser, run_program: Callable[[], Server]) -> Iterator[Page]:  # noqa: ARG001  (closed before the program)
    """A page that is ready for answers which say that the records are away, and for nothing worse."""
    context = browser.new_context(viewport={"width": 1360, "height": 900})
    tab = context.new_page()
    tab.set_default_timeout(20_000)
    faults: list[str] = []
    tab.on("pageerror", lambda error: faults.append(f"script error: {error}"))
    tab.on(
        "response", lambda got: faults.append(got.url) if got.status in (404, 500) and "/photos/" in got.url else None
    )
    yield tab
    context.close()
    assert faults == []


def test_a_student_goes_on_after_the_records_were_away_and_loses_no_answer(
    patient_page: Page, run_program: Callable[[], Server]
) -> None:
    page, server = patient_page, run_program()
    open_start(page, server.url)
    begin(page, sample("cradle_side")["title"])
    say_when_and_where(page, "At the breast", "Side")
    picture = page.get_by_role("img", name="practice photo").get_attribute("src") or ""
    assert picture.endswith("/screen.jpg")
    away = server.data.rename(server.data.with_name("away"))

    signs(page).nth(0).get_by_text("Seen", exact=True).click()
    settle(page)
    expect(page.get_by_text(AWAY)).to_have_count(1)
    expect(page.get_by_text("waits to be saved")).to_be_visible()
    assert page.request.get(f"{server.url}{picture}").status == 503

    page.get_by_role("button", name=re.compile("^Next: ")).click()
    settle(page)
    expect(page.get_by_text(AWAY)).to_have_count(1)
    expect(page.get_by_role("button", name="Try again")).to_be_visible()
    expect(page.get_by_text("waits to be saved")).to_have_count(1)

    away.rename(server.data)
    press(page, "Try again")
    expect(page.get_by_text(AWAY)).to_have_count(0)
    expect(signs(page).nth(0).get_by_role("radio", name="Seen", exact=True)).to_be_checked()
    signs(page).nth(1).get_by_text("Not seen", exact=True).click()
    settle(page)
    ((answers,),) = rows(server.data, "select answers from sheet where round = 1")
    assert answers.count('"seen"') == 1
    assert answers.count('"not_seen"') == 1
    page.reload()
    settle(page)
    expect(signs(page).nth(0).get_by_role("radio", name="Seen", exact=True)).to_be_checked()
    expect(signs(page).nth(1).get_by_role("radio", name="Not seen", exact=True)).to_be_checked()
