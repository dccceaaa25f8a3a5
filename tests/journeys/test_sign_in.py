"""Signing in and out in the browser: first account, joining, resets, and what an address gives afterwards."""

import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from secrets import token_hex

import pytest
from playwright.sync_api import Browser, Page, expect

from records.identity import join_codes
from records.identity.people import Person, Role
from records.models import ClassRow, MemberRow
from records.rights import roles_of
from records.store import Store
from tests.journeys.people import (
    PASSWORD,
    Server,
    first_account,
    open_start,
    pictures_shown,
    press,
    rows,
    settle,
    sign_in,
    sign_out,
)
from tests.served import serve, stop


@pytest.fixture
def another(browser: Browser, run_program: Callable[[], Server]) -> Iterator[Page]:  # noqa: ARG001  (closed first)
    """A page in a second browser profile."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    tab = context.new_page()
    tab.set_default_timeout(20_000)
    yield tab
    context.close()


def class_code(server: Server) -> str:
    """A code for a class of the first account, made beside the running program."""
    store = Store.open(server.data)
    try:
        ((person_id,),) = rows(server.data, "select person_id from account order by set_at limit 1")
        person = Person(id=person_id, handle="", roles=roles_of(store, person_id))
        assert Role.INSTRUCTOR in person.roles
        class_id, now = token_hex(16), store.now()
        with store.writing() as session:
            session.add(
                ClassRow(
                    id=class_id,
                    title="Linden Room",
                    made_by=person_id,
                    made_at=now,
                    keep_until=date(now.year + 1, 1, 1),
                    erased_at=None,
                )
            )
            session.flush()
            session.add(
                MemberRow(class_id=class_id, person_id=person_id, part="instructor", joined_at=now, left_at=None)
            )
        return join_codes.make_join_code(store, person, class_id).code
    finally:
        store.close()


def picture_address(page: Page) -> str:
    """The address of a photo that the page shows."""
    found = page.locator("img.ll-card-picture").first.evaluate("image => image.src")
    assert "/photos/" in found
    return str(found)


def test_working_alone_asks_nothing_and_the_first_account_opens_a_school(
    page: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    open_start(page, server.url)
    expect(page.get_by_text("Signed in as")).to_have_count(0)
    page.get_by_role("link", name="Open a school on this computer").click()
    expect(page.get_by_role("heading", name="Open a school on this computer")).to_be_visible()
    first_account(page, server.url)
    assert pictures_shown(page) >= 2
    sign_out(page)
    page.goto(server.url)
    expect(page.get_by_role("heading", name="Please sign in")).to_be_visible()
    expect(page.get_by_role("heading", name="Choose a photo")).to_have_count(0)
    sign_in(page, server.url, "heron")
    expect(page.get_by_role("heading", name="Choose a photo")).to_be_visible()


def test_an_address_of_a_photo_gives_nothing_in_another_browser_nor_after_sign_out(
    page: Page, another: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    first_account(page, server.url)
    address = picture_address(page)
    assert page.request.get(address).status == 200
    pictures_shown(page)
    another.goto(server.url)
    expect(another.get_by_role("heading", name="Please sign in")).to_be_visible()
    assert another.request.get(address).status == 401
    second_tab = page.context.new_page()
    open_start(second_tab, server.url)
    pictures_shown(second_tab)
    sign_out(page)
    assert page.request.get(address).status == 401
    # The other tab of the same browser is asked again at its next run, over the connection that it kept.
    second_tab.get_by_text("Measure first, then score").click()
    expect(second_tab.get_by_role("heading", name="Please sign in")).to_be_visible()
    expect(second_tab.locator("img.ll-card-picture")).to_have_count(0)


def test_answers_given_after_the_session_ended_are_not_taken_and_the_page_says_so(
    page: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    first_account(page, server.url)
    pictures_shown(page)
    page.get_by_role("button", name="Practise on this photo").first.click()
    expect(page.get_by_text("When was it taken?")).to_be_visible()
    settle(page)
    second_tab = page.context.new_page()
    open_start(second_tab, server.url)
    pictures_shown(second_tab)
    sign_out(second_tab)
    page.get_by_role("radiogroup", name="When was it taken?").get_by_text(re.compile("^At the breast")).click()
    expect(page.get_by_text(re.compile("not signed in here|Please sign in")).first).to_be_visible()
    assert rows(server.data, "select count(*) from sheet") == [(0,)]


def test_a_copied_session_cookie_is_worth_nothing_after_sign_out_and_a_restart_keeps_sessions(
    page: Page, another: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    first_account(page, server.url)
    (cookie,) = [one for one in page.context.cookies() if one["name"] == "latch_and_line_session"]
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")
    assert "latch_and_line" not in page.evaluate("document.cookie")
    page.goto("about:blank")
    server = run_program()
    page.goto(server.url)
    expect(page.get_by_text("Signed in as heron")).to_be_visible()
    address = picture_address(page)
    another.context.add_cookies([{"name": cookie["name"], "value": cookie["value"], "url": server.url}])
    assert another.request.get(address).status == 200
    # Pictures still on their way would be refused, as they must be.
    pictures_shown(page)
    sign_out(page)
    assert another.request.get(address).status == 401


def test_two_processes_on_one_database_share_sessions(
    page: Page, run_program: Callable[[], Server], tmp_path: Path
) -> None:
    first = run_program()
    url, process = serve("app.py", tmp_path / "second.log", {"LATCH_AND_LINE_DATA": str(first.data)})
    try:
        # Cookies know no ports, as behind a school's proxy there is one address for both.
        first_account(page, first.url)
        pictures_shown(page)
        address = picture_address(page).replace(first.url, url)
        assert page.request.get(address).status == 200
        sign_out(page)
        assert page.request.get(address).status == 401
    finally:
        stop(process)


def test_a_student_joins_with_a_code_and_gets_a_new_password_from_the_teacher(
    page: Page, another: Page, run_program: Callable[[], Server], tmp_path: Path
) -> None:
    server = run_program()
    first_account(page, server.url)
    code = class_code(server)
    another.goto(server.url)
    another.get_by_role("link", name="Join a class with a code").click()
    another.get_by_label("Class code").fill(code.upper())
    another.get_by_label("Name you go by here").fill("Wren")
    another.get_by_label("Password", exact=True).fill("words of the wren")
    another.get_by_label("The same once more").fill("words of the wrem")
    another.get_by_role("button", name="Make an account and join").click()
    expect(another.get_by_role("alert")).to_contain_text("The two passwords differ")
    assert another.get_by_label("Class code").input_value() == code.upper()
    another.get_by_label("Password", exact=True).fill("words of the wren")
    another.get_by_label("The same once more").fill("words of the wren")
    another.get_by_role("button", name="Make an account and join").click()
    expect(another.get_by_text("Signed in as wren")).to_be_visible()
    settle(another)

    page.get_by_role("link", name="People").click()
    expect(page.get_by_text("wren", exact=True)).to_be_visible()
    page.get_by_role("button", name="Change").nth(1).click()
    press(page, "Make a new password")
    one_time = page.get_by_test_id("stCode").inner_text().strip()
    assert re.fullmatch(r"(?:[a-z2-9]{4}-){3}[a-z2-9]{4}", one_time)
    another.reload()
    expect(another.get_by_role("heading", name="Please sign in")).to_be_visible()
    another.get_by_role("link", name="Sign in").click()
    another.get_by_label("Name you go by here").fill("wren")
    another.get_by_label("Password", exact=True).fill(one_time)
    another.get_by_role("button", name="Sign in", exact=True).click()
    expect(another.get_by_role("heading", name="Choose a password of your own")).to_be_visible()
    another.goto(server.url)
    expect(another.get_by_role("heading", name="Choose a password of your own")).to_be_visible()
    another.get_by_role("link", name="Change the password").click()
    another.get_by_label("Password that you were given").fill(one_time)
    another.get_by_label("New password").fill("other words of the wren")
    another.get_by_label("The same once more").fill("other words of the wren")
    another.get_by_role("button", name="Keep the new password").click()
    expect(another.get_by_text("Signed in as wren")).to_be_visible()

    written = (tmp_path / "server.log").read_text()
    for secret in (PASSWORD, "words of the wren", one_time, code, code.replace("-", "")):
        assert secret not in written
        assert secret.replace(" ", "+") not in written


def test_working_alone_is_one_click_where_the_school_left_it_open(
    page: Page, another: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    first_account(page, server.url)
    page.get_by_role("link", name="People").click()
    page.get_by_text("Signing in at this school").click()
    page.get_by_text("Practising at this computer stays open without signing in").click()
    press(page, "Keep these choices")
    another.goto(server.url)
    another.get_by_role("button", name="Work alone on this computer").click()
    expect(another.get_by_text("Working alone on this computer")).to_be_visible()
    settle(another)
    assert pictures_shown(another) >= 2
    expect(another.get_by_role("link", name="People")).to_have_count(0)


def test_signing_out_everywhere_ends_the_session_of_another_browser(
    page: Page, another: Page, run_program: Callable[[], Server]
) -> None:
    server = run_program()
    first_account(page, server.url)
    sign_in(another, server.url, "heron")
    page.get_by_role("link", name="My account").click()
    press(page, "Sign out everywhere")
    expect(page.get_by_role("heading", name="Please sign in")).to_be_visible()
    another.reload()
    expect(another.get_by_role("heading", name="Please sign in")).to_be_visible()
