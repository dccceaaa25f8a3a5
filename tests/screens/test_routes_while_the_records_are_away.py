"""What the program's own addresses answer while the database is away: 503 for what passes, 404 for what nobody may see."""

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import httpx
import pytest
from starlette.applications import Starlette
from starlette.routing import Route

from records.errors import (
    KeyHidden,
    NotAllowed,
    NotFound,
    NotSignedIn,
    RecordsError,
    SignInRefused,
    StorageFault,
    TooManyTries,
)
from records.identity import accounts
from records.identity.people import Person
from records.photo.photos import list_photos
from records.store import DATABASE_NAME, DATABASE_VARIABLE
from screens import data
from screens.door.answering import status_of
from screens.door.middleware import DoorMiddleware
from screens.door.routes import door_routes
from screens.ledger.routes import ledger_routes
from screens.photo_routes import guarded, photo_routes
from screens.review.report_routes import report_routes
from screens.sets.routes import set_routes
from tests.postgres import Server, programs
from tests.screens.own_loop import run_beside

HOST = "http://localhost:8501"
HERE = {"Origin": HOST}
PASSWORD = "a long walk by the river"
SOME_ID = "0" * 32
GUARDED = [*photo_routes(), *set_routes(), *report_routes(), *ledger_routes()]
#: Made without the records: it asks only who is there.
FILLED = {"ending": "pdf", "kind": "key"}


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    folder = tmp_path / "data"
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(folder))
    data._opened.cache_clear()
    yield folder
    data.store().close()
    data._opened.cache_clear()


class InThisProcess(httpx.BaseTransport):
    """Hands requests to some routes without a network."""

    def __init__(self, routes: list[Route]) -> None:
        self.app = Starlette(routes=routes, middleware=[DoorMiddleware.entry()])

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        async def answer() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, client=("127.0.0.1", 50000))
            got = await transport.handle_async_request(request)
            return httpx.Response(got.status_code, headers=got.headers, content=await got.aread())

        return run_beside(answer())


def browser_for(routes: list[Route]) -> httpx.Client:
    return httpx.Client(transport=InThisProcess(routes), base_url=HOST)


def address(route: Route) -> str:
    """The route's address with an id of the right form, or with what it takes, in each of its places."""
    return re.sub(r"{(\w+)}", lambda place: FILLED.get(place[1], SOME_ID), route.path)


def move_away(folder: Path) -> Path:
    return folder.rename(folder.with_name("moved away"))


@pytest.fixture
def browser() -> httpx.Client:
    """A browser that has its mark and sees the shipped photos."""
    client = browser_for([*GUARDED, *door_routes()])
    client.get("/first-account").raise_for_status()
    return client


@pytest.mark.parametrize("route", GUARDED, ids=lambda route: str(route.path))
def test_every_own_address_says_503_while_the_records_are_away_and_its_own_answer_afterwards(
    browser: httpx.Client, own_data_folder: Path, route: Route
) -> None:
    before = browser.get(address(route))
    assert before.status_code in (200, 404)
    away = move_away(own_data_folder)
    answer = browser.get(address(route))
    assert answer.status_code == 503
    assert answer.text == "The records cannot be reached just now. Please try again in a moment."
    assert int(answer.headers["retry-after"]) > 0
    assert answer.headers["cache-control"] == "private, no-store"
    assert str(own_data_folder) not in answer.text
    away.rename(own_data_folder)
    assert browser.get(address(route)).status_code == before.status_code


def test_a_photo_whose_file_is_gone_is_a_fault_and_not_a_refusal(browser: httpx.Client, own_data_folder: Path) -> None:
    photo = list_photos(data.store(), data.me())[0]
    path = f"/photos/{photo.id}/screen.jpg"
    assert browser.get(path).status_code == 200
    shutil.move(own_data_folder / "photos", own_data_folder / "elsewhere")
    assert browser.get(path).status_code == 503
    assert browser.get(f"/photos/{SOME_ID}/screen.jpg").status_code == 404
    shutil.move(own_data_folder / "elsewhere", own_data_folder / "photos")
    assert browser.get(path).status_code == 200


@pytest.mark.parametrize(
    ("fault", "status"),
    [
        (StorageFault("The disk is full."), 503),
        (OSError(28, "No space left on device"), 503),
        (NotFound("There is none."), 404),
        (NotAllowed("It is someone else's."), 404),
        (KeyHidden("Not yet."), 404),
        (RecordsError("Something else."), 404),
        (KeyError("token"), 404),
        (NotSignedIn("Nobody is here."), 401),
    ],
    ids=lambda value: type(value).__name__,
)
def test_only_what_may_not_be_seen_is_answered_as_if_it_were_not_there(fault: Exception, status: int) -> None:
    def read(_: Person) -> bytes:
        raise fault

    async def route(request: object) -> object:
        return await guarded(request, read)  # type: ignore[arg-type]

    browser = browser_for([Route("/it", route), *door_routes()])
    browser.get("/first-account").raise_for_status()
    answer = browser.get("/it")
    assert answer.status_code == status
    assert str(fault.args[-1]) not in answer.text


def sent(browser: httpx.Client, token: str, path: str, **fields: str) -> httpx.Response:
    return browser.post(path, data={"form_token": token, **fields}, headers=HERE)


@pytest.mark.parametrize("path", ["/sign-in", "/first-account", "/password", "/join", "/alone", "/ticket", "/newcomer"])
def test_a_door_page_says_in_one_sentence_with_503_that_the_records_are_away(
    browser: httpx.Client, own_data_folder: Path, path: str
) -> None:
    found = re.search(r'name="form_token" value="([0-9a-f]{64})"', browser.get("/first-account").text)
    assert found
    accounts.first_account(data.store(), handle="heron", password=PASSWORD, alone_open=True)
    assert sent(browser, found[1], "/sign-in", handle="heron", password=PASSWORD).status_code == 303
    away = move_away(own_data_folder)
    answer = sent(browser, found[1], path, handle="heron", password=PASSWORD, again=PASSWORD, code="abcd-efgh")
    assert answer.status_code == 503
    assert answer.text.count("no longer where it was") == 1
    away.rename(own_data_folder)
    assert sent(browser, found[1], "/sign-in", handle="heron", password=PASSWORD).status_code == 303


def test_a_disk_that_is_full_is_no_mistake_of_whoever_signs_in() -> None:
    assert status_of(StorageFault("The disk is full.")) == 503
    assert status_of(SignInRefused("Name and password do not match.")) == 400
    assert status_of(TooManyTries("Please wait.")) == 429


def test_a_form_from_elsewhere_while_the_records_cannot_be_opened_is_no_crash(own_data_folder: Path) -> None:
    own_data_folder.mkdir()
    database = own_data_folder / DATABASE_NAME
    database.write_bytes(b"no database at all, but longer than the header of one " * 10)
    answer = browser_for(door_routes()).post(
        "/sign-in", data={"handle": "heron"}, headers={"Origin": "http://evil.test"}
    )
    assert answer.status_code == 503
    assert answer.text.endswith("please restore it from a backup.")
    database.unlink()


def test_while_a_postgresql_server_is_down_every_address_says_503_and_its_own_answer_afterwards(
    own_data_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if programs() is None:
        assert not os.environ.get("REQUIRE_POSTGRES"), "REQUIRE_POSTGRES is set and there is no PostgreSQL server"
        pytest.skip("no PostgreSQL server on this machine (Debian: apt-get install postgresql)")
    with (
        TemporaryDirectory(prefix="postgres-") as place,
        Server.running(Path(place) / "server", waits_for_disk=True) as server,
    ):
        monkeypatch.setenv(DATABASE_VARIABLE, server.url("postgres"))
        browser = browser_for([*GUARDED, *door_routes()])
        browser.get("/first-account").raise_for_status()
        before = {address(route): browser.get(address(route)).status_code for route in GUARDED}
        server.kill()
        assert {path: browser.get(path).status_code for path in before} == dict.fromkeys(before, 503)
        door = browser.get("/sign-in")
        assert (door.status_code, door.text.count("does not answer just now")) == (503, 1)
        server.start()
        assert {path: browser.get(path).status_code for path in before} == before
        data.store().close()
        data._opened.cache_clear()
    # What is opened at the end of each test has other records, and would not touch photos that it does not know.
    monkeypatch.delenv(DATABASE_VARIABLE)
    shutil.rmtree(own_data_folder)
