"""The guides in the browser: each opens, all its pictures come, and a phone shows it without moving sideways."""

from collections.abc import Callable

from playwright.sync_api import Page, expect

from screens.guide.texts import GUIDES
from tests.journeys.people import Server, open_start, pictures_shown, settle


def test_each_guide_opens_with_its_pictures_also_on_a_phone(page: Page, run_program: Callable[[], Server]) -> None:
    server = run_program()
    open_start(page, server.url)
    page.get_by_role("link", name="Guide", exact=True).click()
    expect(page.get_by_role("heading", name="Practising", exact=True)).to_be_visible()
    settle(page)
    assert pictures_shown(page) == 8
    page.set_viewport_size({"width": 390, "height": 800})
    for about in GUIDES:
        page.goto(f"{server.url}/guide?about={about}")
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        settle(page)
        main = page.locator("[data-testid=stMain]")
        assert main.evaluate("e => e.scrollWidth <= e.clientWidth"), about
    assert page.request.get(f"{server.url}/guide-pictures/nothing.webp").status == 404
