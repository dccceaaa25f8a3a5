"""Signing in by the school's own system, against an OpenID provider of our own that runs beside the program."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Request, expect

from tests.journeys.own_provider import Provider, running, secrets_toml
from tests.journeys.people import Server, first_account, pictures_shown, rows, settle, sign_out
from tests.journeys.test_sign_in import class_code
from tests.served import free_port, serve, stop


# The tests name `server` before `page`, so that the page is closed first and misses nobody.
@pytest.fixture
def provider() -> Iterator[Provider]:
    with running() as started:
        yield started


@pytest.fixture
def server(tmp_path: Path, provider: Provider) -> Iterator[Server]:
    port = free_port()
    named = tmp_path / "secrets.toml"
    named.write_text(secrets_toml(provider, f"http://localhost:{port}"))
    data = tmp_path / "data"
    environment = {"LATCH_AND_LINE_DATA": str(data), "STREAMLIT_SECRETS_FILES": str(named)}
    url, process = serve("app.py", tmp_path / "server.log", environment, port)
    yield Server(url=url, data=data, process=process)
    stop(process)


@pytest.fixture
def context(browser: Browser, server: Server) -> Iterator[BrowserContext]:  # noqa: ARG001  (closed before the program)
    fresh = browser.new_context()
    yield fresh
    fresh.close()


def to_the_school(page: Page, url: str, who: str) -> None:
    """From the program's page to the school's system and back."""
    page.goto(url)
    page.get_by_role("button", name="Sign in with the school's system").click()
    expect(page.get_by_role("heading", name="The school")).to_be_visible()
    page.get_by_role("link", name=f"I am {who}").click()


def test_a_newcomer_enters_a_code_once_and_comes_in_by_the_school_from_then_on(
    server: Server, page: Page, context: BrowserContext, provider: Provider, tmp_path: Path
) -> None:
    first_account(page, server.url)
    code = class_code(server)
    student = context.new_page()
    addresses: list[str] = []

    def note(request: Request) -> None:
        addresses.append(request.url)

    student.on("request", note)
    to_the_school(student, server.url, "one")
    expect(student.get_by_role("heading", name="You are new here")).to_be_visible(timeout=40_000)
    student.get_by_label("Class code").fill("wrng-code")
    student.get_by_label("Name you go by here").fill("wren")
    student.get_by_role("button", name="Join the class").click()
    expect(student.get_by_role("alert")).to_contain_text("opens no class here")
    student.get_by_label("Class code").fill(code)
    student.get_by_role("button", name="Join the class").click()
    expect(student.get_by_text("Signed in as wren")).to_be_visible()
    settle(student)
    assert pictures_shown(student) >= 2
    assert rows(server.data, "select subject from identity") == [("subject-one",)]

    sign_out(student)
    student.goto(server.url)
    expect(student.get_by_role("heading", name="Please sign in")).to_be_visible()
    to_the_school(student, server.url, "one")
    expect(student.get_by_text("Signed in as wren")).to_be_visible(timeout=40_000)
    assert provider.asked == ["one", "one"]

    log = (tmp_path / "server.log").read_text()
    for secret in (code, code.replace("-", ""), "subject-one", "someone@school.example"):
        assert secret not in log
        assert not [address for address in addresses if secret in address]
    assert not [address for address in addresses if re.search(r"ticket=|form_token=", address)]


def test_an_account_made_before_is_linked_by_its_password(server: Server, page: Page, context: BrowserContext) -> None:
    first_account(page, server.url)
    other = context.new_page()
    to_the_school(other, server.url, "two")
    expect(other.get_by_role("heading", name="You are new here")).to_be_visible(timeout=40_000)
    other.get_by_label("Name of that account").fill("heron")
    other.get_by_label("Its password").fill("quiet river stones")
    other.get_by_role("button", name="Use this account").click()
    expect(other.get_by_text("Signed in as heron")).to_be_visible()
    assert rows(server.data, "select subject from identity") == [("subject-two",)]


def test_an_answer_of_the_school_that_is_an_hour_old_lets_nobody_in(
    server: Server, page: Page, context: BrowserContext, provider: Provider
) -> None:
    first_account(page, server.url)
    provider.seconds_ago = 3000
    late = context.new_page()
    to_the_school(late, server.url, "one")
    expect(late.get_by_role("heading", name="Please sign in")).to_be_visible(timeout=40_000)
    expect(late.get_by_role("button", name="Sign in with the school's system")).to_be_visible()
    assert provider.asked == ["one"]
    assert rows(server.data, "select count(*) from setting where name like 'ticket%'") == [(0,)]
