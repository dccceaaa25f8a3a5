"""The door in the reader's language, and the choice of another one."""

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import httpx
import pytest
from own_loop import run_beside
from starlette.applications import Starlette

from records.identity import accounts
from screens import data
from screens.door.middleware import DoorMiddleware
from screens.door.routes import door_routes
from screens.language import COOKIE
from screens.photo_routes import photo_routes

HERE = {"origin": "http://localhost:8501", "Content-Type": "application/x-www-form-urlencoded"}


class InThisProcess(httpx.BaseTransport):
    """Hands requests to the routes without a network."""

    def __init__(self) -> None:
        self.app = Starlette(routes=[*photo_routes(), *door_routes()], middleware=[DoorMiddleware.entry()])

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        async def answer() -> httpx.Response:
            got = await httpx.ASGITransport(app=self.app).handle_async_request(request)
            return httpx.Response(got.status_code, headers=got.headers, content=await got.aread())

        return run_beside(answer())


@pytest.fixture
def door(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[httpx.Client]:
    """A browser at the door of a school."""
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path))
    data._opened.cache_clear()
    accounts.first_account(data.store(), handle="dunlin", password="quiet river stones", alone_open=False)
    with httpx.Client(transport=InThisProcess(), base_url="http://localhost:8501") as browser:
        yield browser
    data.store().close()
    data._opened.cache_clear()


def test_the_door_speaks_the_language_that_was_chosen_there(door: httpx.Client) -> None:
    first = door.get("/join", headers={"Accept-Language": "de"})
    assert '<html lang="de">' in first.text
    assert "Einem Kurs beitreten" in first.text
    token = re.search(r'name="form_token" value="([^"]+)"', first.text)
    assert token
    sent = urlencode({"form_token": token[1], "language": "en", "back": "/join"})
    answer = door.post("/language", content=sent, headers=HERE)
    assert (answer.status_code, answer.headers["location"]) == (303, "/join")
    # What was chosen counts although the browser still asks for German.
    again = door.get("/join", headers={"Accept-Language": "de"})
    assert '<html lang="en">' in again.text
    assert "Join a class" in again.text


def test_a_language_is_not_chosen_by_a_form_of_another_site(door: httpx.Client) -> None:
    refused = door.post(
        "/language",
        content=urlencode({"language": "de", "form_token": "forged"}),
        headers=HERE,
    )
    assert refused.status_code == 403
    assert COOKIE not in door.cookies


def test_a_refusal_at_the_door_is_told_in_the_readers_language(door: httpx.Client) -> None:
    page = door.get("/join", headers={"Accept-Language": "de"})
    token = re.search(r'name="form_token" value="([^"]+)"', page.text)
    assert token
    fields = {
        "form_token": token[1],
        "code": "abcd2345",
        "handle": "plover",
        "password": "one two three",
        "again": "other",
    }
    refused = door.post("/join", content=urlencode(fields), headers={**HERE, "Accept-Language": "de"})
    assert refused.status_code == 400
    assert "Die beiden Passwörter sind verschieden" in refused.text


def test_a_picture_that_nobody_may_see_is_refused_in_the_readers_language(door: httpx.Client) -> None:
    refused = door.get("/photos/none/screen.jpg", headers={"Accept-Language": "de"})
    assert (refused.status_code, refused.text) == (
        401,
        "Öffnen Sie zuerst die Seite des Programms und melden Sie sich an.",
    )
    assert door.get("/photos/none/screen.jpg").text == "Open the program's page and sign in first."
