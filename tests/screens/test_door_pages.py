"""The door's pages as a browser meets them: cookies, forms of other sites, what is said and what is never said."""

import logging
import re
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from own_loop import run_beside
from starlette.applications import Starlette

from records.identity import accounts, sessions
from records.identity.people import Role
from records.photo.photos import list_photos
from records.settings import Settings, change_settings, read_settings
from screens import data
from screens.door import cookies
from screens.door.forms import comes_from_here
from screens.door.middleware import DoorMiddleware
from screens.door.routes import door_routes
from screens.photo_routes import photo_routes
from screens.uploads import drafts, shelf
from screens.uploads.batch import Batch, Upload, Waiting

PASSWORD = "quiet river stones"
HOST = "http://localhost:8501"
HERE = {"origin": HOST}


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path))
    monkeypatch.delenv(cookies.PROXY_VARIABLE, raising=False)
    data._opened.cache_clear()
    yield
    data.store().close()
    data._opened.cache_clear()


class InThisProcess(httpx.BaseTransport):
    """Hands requests to the routes without a network, as if they came from an address."""

    def __init__(self, address: str) -> None:
        self.app = Starlette(routes=[*photo_routes(), *door_routes()], middleware=[DoorMiddleware.entry()])
        self.address = address

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        async def answer() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, client=(self.address, 50000))
            got = await transport.handle_async_request(request)
            return httpx.Response(got.status_code, headers=got.headers, content=await got.aread())

        return run_beside(answer())


def new_browser(address: str = "127.0.0.1", base_url: str = HOST) -> httpx.Client:
    return httpx.Client(transport=InThisProcess(address), base_url=base_url)


@pytest.fixture
def browser() -> httpx.Client:
    return new_browser()


def token_in(page: str) -> str:
    found = re.search(r'name="form_token" value="([0-9a-f]{64})"', page)
    assert found, page
    return found.group(1)


def send(browser: httpx.Client, path: str, look_at: str = "", **fields: str) -> httpx.Response:
    """Open a page and send its form as a browser does."""
    shown = browser.get(look_at or path)
    return browser.post(path, data={"form_token": token_in(shown.text), **fields}, headers=HERE)


def open_school(browser: httpx.Client, **more: str) -> None:
    done = send(browser, "/first-account", handle="Heron", password=PASSWORD, again=PASSWORD, **more)
    assert (done.status_code, done.headers["location"]) == (303, "/")


def first_photo() -> str:
    return f"/photos/{list_photos(data.store(), data.me())[0].id}/thumbnail.jpg"


def educator() -> accounts.Person:
    return accounts.sign_in(data.store(), handle="heron", password=PASSWORD, from_where="test").person


def test_the_cookies_are_out_of_reach_of_scripts_and_other_sites(browser: httpx.Client) -> None:
    given_mark = browser.get("/first-account").headers["set-cookie"]
    assert given_mark.startswith(f"{cookies.MARK}=")
    assert given_mark.endswith("; HttpOnly; SameSite=Strict; Path=/")
    done = send(browser, "/first-account", handle="heron", password=PASSWORD, again=PASSWORD)
    given_session = done.headers["set-cookie"]
    assert given_session.startswith(f"{cookies.SESSION}=")
    assert given_session.endswith("; HttpOnly; SameSite=Strict; Path=/")
    assert "set-cookie" not in browser.get("/sign-in").headers


def test_over_tls_the_cookies_are_marked_secure() -> None:
    browser = new_browser(base_url="https://localhost")
    assert browser.get("/first-account").headers["set-cookie"].endswith("; Secure")


def test_a_proxys_word_counts_only_where_the_school_said_so(
    browser: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = {"x-forwarded-proto": "https", "x-forwarded-for": "203.0.113.5"}
    assert not browser.get("/first-account", headers=said).headers["set-cookie"].endswith("Secure")
    monkeypatch.setenv(cookies.PROXY_VARIABLE, "1")
    assert new_browser().get("/first-account", headers=said).headers["set-cookie"].endswith("Secure")


def test_the_address_is_the_last_one_that_the_schools_own_proxy_saw(monkeypatch: pytest.MonkeyPatch) -> None:
    scope = {"client": ("10.0.0.1", 1), "headers": [(b"x-forwarded-for", b"1.1.1.1, 203.0.113.5")]}
    assert cookies.address_of(scope) == "10.0.0.1"
    monkeypatch.setenv(cookies.PROXY_VARIABLE, "1")
    assert cookies.address_of(scope) == "203.0.113.5"


def test_door_pages_hold_no_script_and_may_load_none(browser: httpx.Client) -> None:
    open_school(browser)
    for path in ("/sign-in", "/join", "/password", "/sign-out"):
        answer = browser.get(path)
        assert answer.status_code == 200
        assert "<script" not in answer.text
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["cache-control"] == "no-store"


def test_every_field_has_a_label_and_tells_password_managers_what_it_is(browser: httpx.Client) -> None:
    open_school(browser)
    pages = [browser.get(path).text for path in ("/sign-in", "/password")]
    pages += [new_browser().get("/join").text]
    for page in pages:
        for field in re.findall(r"<input (?![^>]*hidden)[^>]*>", page):
            name = re.search(r'id="([^"]+)"', field)
            assert name, field
            assert f'<label for="{name.group(1)}">' in page
            assert "autocomplete=" in field
        assert re.search(r'autocomplete="username"', page)
        assert re.search(r'autocomplete="(current|new)-password"', page)


@pytest.mark.parametrize("path", ["/sign-in", "/sign-out", "/password", "/join", "/alone", "/ticket", "/newcomer"])
def test_a_form_that_another_sites_page_sends_does_nothing(browser: httpx.Client, path: str) -> None:
    open_school(browser)
    token = token_in(browser.get("/sign-in").text)
    good = {"form_token": token, "handle": "heron", "password": PASSWORD, "old": PASSWORD, "again": PASSWORD}
    for wrong in ({"origin": "https://elsewhere.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}, {}):
        refused = browser.post(path, data=good, headers=wrong)
        assert refused.status_code == 403
        assert 'role="alert"' in refused.text
    for other in ("", "0" * 64, token[:-1]):
        assert browser.post(path, data={**good, "form_token": other}, headers=HERE).status_code == 403
    assert len(accounts.list_people(data.store(), educator())) == 1


def test_a_form_token_is_good_in_the_browser_that_it_was_made_for_only(browser: httpx.Client) -> None:
    open_school(browser)
    token = token_in(browser.get("/sign-in").text)
    other = new_browser()
    other.get("/sign-in")
    sent = {"form_token": token, "handle": "heron", "password": PASSWORD}
    assert other.post("/sign-in", data=sent, headers=HERE).status_code == 403


@pytest.mark.parametrize(
    ("headers", "here"),
    [
        ({"sec-fetch-site": "same-origin", "origin": "https://x", "host": "y"}, True),
        ({"sec-fetch-site": "same-site", "origin": "http://y", "host": "y"}, False),
        ({"sec-fetch-site": "none"}, False),
        ({"origin": "http://y:1", "host": "y:1"}, True),
        ({"origin": "http://y:2", "host": "y:1"}, False),
        ({"host": "y"}, False),
        ({"origin": "null", "host": "null"}, False),
        ({}, False),
    ],
)
def test_where_a_form_comes_from(headers: dict[str, str], here: bool) -> None:
    scope = {"headers": [(name.encode(), value.encode()) for name, value in headers.items()]}
    assert comes_from_here(scope) is here


@given(st.text(max_size=200))
def test_no_cookie_or_token_that_we_did_not_make_is_taken(text: str) -> None:
    secret = b"x" * 32
    mark = cookies.new_mark(secret)
    assert cookies.is_mark(secret, mark)
    assert not cookies.is_mark(b"y" * 32, mark)
    assert text == mark or not cookies.is_mark(secret, text)
    assert not cookies.is_form_token(secret, mark, text)
    assert cookies.is_form_token(secret, mark, cookies.form_token(secret, mark))


def test_a_body_that_is_too_long_or_no_form_is_refused(browser: httpx.Client) -> None:
    open_school(browser)
    token = token_in(browser.get("/sign-in").text)
    long = browser.post("/sign-in", data={"form_token": token, "handle": "x" * 20_000}, headers=HERE)
    many = browser.post("/sign-in", data={"form_token": token, **{f"f{n}": "" for n in range(40)}}, headers=HERE)
    as_json = browser.post("/sign-in", json={"form_token": token}, headers=HERE)
    assert [long.status_code, many.status_code, as_json.status_code] == [403, 403, 403]


def test_a_wrong_password_is_said_once_in_an_alert_and_the_password_is_not_sent_back(browser: httpx.Client) -> None:
    open_school(browser)
    refused = send(new_browser(), "/sign-in", handle='"><b>wren', password="a wrong password")
    assert refused.status_code == 400
    assert refused.text.count('role="alert"') == 1
    assert "a wrong password" not in refused.text
    assert "<b>" not in refused.text
    assert "&lt;b&gt;wren" in refused.text


def test_after_too_many_tries_even_the_right_password_waits(browser: httpx.Client) -> None:
    open_school(browser)
    other = new_browser("203.0.113.5")
    assert [send(other, "/sign-in", handle="heron", password="wrong").status_code for _ in range(5)] == [400] * 5
    closed = send(other, "/sign-in", handle="heron", password=PASSWORD)
    assert closed.status_code == 429
    assert "please wait 1 minute" in closed.text


def test_passwords_codes_and_tokens_reach_neither_the_log_nor_an_address(
    browser: httpx.Client, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    open_school(browser)
    token = browser.cookies[cookies.SESSION]
    send(browser, "/join", code="abcd-efgh")
    send(new_browser(), "/join", code="abcd-efgh", handle="wren", password=PASSWORD, again=PASSWORD)
    send(new_browser(), "/sign-in", handle="heron", password="a wrong password")
    gone = send(browser, "/sign-out")
    assert gone.headers["location"] == "/sign-in"
    for secret in (PASSWORD, "a wrong password", "abcd-efgh", token, sessions._sha256(token)):
        assert secret not in caplog.text
        assert secret.replace(" ", "+") not in caplog.text


def test_a_picture_is_for_the_mark_of_this_computer_while_nobody_has_an_account(browser: httpx.Client) -> None:
    photo = first_photo()
    assert browser.get(photo).status_code == 401
    browser.get("/first-account")
    shown = browser.get(photo)
    assert shown.status_code == 200
    assert shown.headers["content-type"] == "image/jpeg"
    assert shown.headers["cache-control"] == "private, no-store"


def test_an_address_of_a_picture_gives_nothing_after_sign_out_or_elsewhere(browser: httpx.Client) -> None:
    photo = first_photo()
    open_school(browser)
    assert browser.get(photo).status_code == 200
    other = new_browser()
    other.get("/sign-in")
    assert other.get(photo).status_code == 401
    kept = browser.cookies[cookies.SESSION]
    send(browser, "/sign-out")
    assert cookies.SESSION not in browser.cookies
    assert browser.get(photo).status_code == 401
    other.cookies.set(cookies.SESSION, kept)
    assert other.get(photo).status_code == 401


def test_an_upload_that_waits_is_shown_to_its_own_person_only(browser: httpx.Client) -> None:
    open_school(browser)
    _, first = accounts.make_account(data.store(), educator(), handle="wren", roles=frozenset({Role.STUDENT}))
    other = new_browser()
    send(other, "/sign-in", handle="wren", password=first)
    send(other, "/password", old=first, password="another set of words", again="another set of words")
    address = f"/drafts/{drafts.keep(b'a picture', educator().id)}/screen.jpg"
    assert browser.get(address).content == b"a picture"
    assert other.get(address).status_code == 404
    send(browser, "/sign-out")
    assert browser.get(address).status_code == 401


def test_a_batch_of_uploads_that_waits_goes_when_its_session_ends(browser: httpx.Client) -> None:
    open_school(browser)
    whose = shelf.Whose(person_id=educator().id, session=browser.cookies[cookies.SESSION])
    batch = Batch(waiting={"1": Waiting(upload_id="1", name="a", width=1, height=1, small="", look_hash="")})
    shelf.put(whose, "a page", batch, {"1": cast(Upload, SimpleNamespace(size=1))})
    assert len(shelf.offers(whose, "another page")) == 1
    send(browser, "/sign-out")
    assert shelf.offers(whose, "another page") == []


def test_an_address_of_a_picture_that_is_not_there_tells_nothing_more(browser: httpx.Client) -> None:
    open_school(browser)
    answers = [browser.get(f"/{kind}/{'0' * 32}/{name}") for kind, name in (
        ("photos", "screen.jpg"), ("photos", "thumbnail.jpg"), ("drafts", "screen.jpg"), ("overlays", "overlay.jpg")
    )]  # fmt: skip
    assert {(answer.status_code, answer.text) for answer in answers} == {(404, "This is not available.")}


def test_a_first_password_leads_to_its_change_and_to_nothing_else(browser: httpx.Client) -> None:
    open_school(browser)
    photo = first_photo_of(browser)
    roles = frozenset({Role.STUDENT})
    _, first = accounts.make_account(data.store(), educator(), handle="wren", roles=roles)
    other = new_browser()
    done = send(other, "/sign-in", handle="wren", password=first)
    assert done.headers["location"] == "/password"
    assert other.get(photo).status_code == 401
    assert "Choose a password of your own" in other.get("/password").text
    wrong = send(other, "/password", old=first, password="another set of words", again="another set")
    assert (wrong.status_code, "two passwords differ" in wrong.text) == (400, True)
    changed = send(other, "/password", old=first, password="another set of words", again="another set of words")
    assert changed.headers["location"] == "/"
    assert other.get(photo).status_code == 200


def first_photo_of(browser: httpx.Client) -> str:
    """The address of a sample, for someone whose session this browser holds."""
    person = sessions.person_for_token(data.store(), browser.cookies[cookies.SESSION])
    assert person is not None
    return f"/photos/{list_photos(data.store(), person)[0].id}/thumbnail.jpg"


def test_signing_in_as_another_ends_the_session_that_the_browser_had(browser: httpx.Client) -> None:
    open_school(browser)
    first = browser.cookies[cookies.SESSION]
    send(browser, "/sign-in", handle="heron", password=PASSWORD)
    second = browser.cookies[cookies.SESSION]
    assert first != second
    assert sessions.person_for_token(data.store(), first) is None
    assert sessions.person_for_token(data.store(), second) is not None


def test_working_alone_is_one_click_where_the_school_left_it_open(browser: httpx.Client) -> None:
    open_school(browser)
    other = new_browser()
    assert "Work alone" not in other.get("/sign-in").text
    assert send(other, "/alone", "/sign-in").status_code == 403
    now = read_settings(data.store())
    change_settings(data.store(), educator(), Settings(alone_open=True, revision=now.revision))
    assert "Work alone" in other.get("/sign-in").text
    assert send(other, "/alone", "/sign-in").headers["location"] == "/"
    assert other.get(first_photo_of(other)).status_code == 200


@pytest.mark.parametrize(
    ("address", "headers"),
    [("203.0.113.5", {}), ("127.0.0.1", {"x-forwarded-for": "203.0.113.5"}), ("testclient", {})],
)
def test_working_alone_is_for_this_computer_only(address: str, headers: dict[str, str]) -> None:
    open_school(new_browser(), alone="yes")
    other = new_browser(address)
    other.headers.update(headers)
    assert "Work alone" not in other.get("/sign-in").text
    assert send(other, "/alone", "/sign-in").status_code == 403


@pytest.mark.parametrize("path", ["/sign-in", "/join"])
def test_before_there_is_an_account_the_door_leads_to_the_first_one(browser: httpx.Client, path: str) -> None:
    assert browser.get(path).headers["location"] == "/first-account"


def test_after_the_first_account_its_page_makes_no_other(browser: httpx.Client) -> None:
    token = token_in(browser.get("/first-account").text)
    open_school(browser)
    late = {"form_token": token, "handle": "wren", "password": PASSWORD, "again": PASSWORD}
    assert browser.post("/first-account", data=late, headers=HERE).headers["location"] == "/sign-in"
    assert len(accounts.list_people(data.store(), educator())) == 1


def test_the_style_is_served_and_nothing_else_of_the_folder(browser: httpx.Client) -> None:
    assert browser.get("/door/look.css").headers["content-type"].startswith("text/css")
    assert browser.get("/door/door.css").status_code == 200
    assert browser.get("/door/icon.svg").headers["content-type"].startswith("image/svg")
    for name in ("routes.py", "..%2Fdata.py", "templates%2Fsign_in.html", ""):
        assert browser.get(f"/door/{name}").status_code == 404
