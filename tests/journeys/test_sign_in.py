"""Signing in and out in the browser: the first account, the cookie, what an address gives afterwards."""

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.journeys.people import Server, first_account, open_start, pictures_shown, sign_in, sign_out


def test_working_alone_asks_nothing_and_the_first_account_opens_a_school(
    page: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    open_start(page, server.url)
    expect(page.get_by_text("Signed in as")).to_have_count(0)
    first_account(page, server.url)
    assert pictures_shown(page) >= 2
    sign_out(page)
    page.goto(server.url)
    expect(page.get_by_role("heading", name="Please sign in")).to_be_visible()
    expect(page.get_by_role("heading", name="Choose a photo")).to_have_count(0)
    sign_in(page, server.url, "heron")
    expect(page.get_by_role("heading", name="Choose a photo")).to_be_visible()
