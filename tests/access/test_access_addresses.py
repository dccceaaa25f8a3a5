"""Addresses typed by hand: what is not given to a student or a stranger stays out of reach, by every method and trick."""

import pytest
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

from screens.door.cookies import MARK, SESSION
from tests.access.conftest import Besieged
from tests.access.forging import ForgingPage, send_form
from tests.journeys.people import PASSWORD

SHUT = {401, 403, 404, 405}


def addresses(place: Besieged) -> list[str]:
    """What belongs to others: pictures, work, reports, scans, bundles, worksheets."""
    school, photo = place.school, place.school.photos[2].id
    return [
        f"/overlays/{place.attempt_of_lark}/overlay.jpg",
        f"/overlays/{place.attempt_of_lark}/overlay.jpg?download",
        *(f"/reports/class/{place.work}/report.{kind}" for kind in ("pdf", "xlsx", "csv", "csv?names", "exe")),
        *(f"/reports/set/{school.version_id}/report.{kind}" for kind in ("pdf", "xlsx", "csv")),
        f"/consent-scans/{place.scan_of_heron}/form",
        f"/set-worksheets/{school.version_id}/key.pdf",
        f"/set-worksheets/{school.version_id}/blank.pdf",
        f"/set-bundles/{school.version_id}/teaching-set.zip",
        "/reports/mine/report.pdf",
        f"/drafts/{photo}/screen.jpg",
        f"/set-uploads/{photo}/picture.jpg",
    ]


def test_a_student_reaches_nothing_of_others_by_address(besieged: Besieged, wren: ForgingPage) -> None:
    for address in addresses(besieged):
        for method in ("GET", "HEAD", "OPTIONS", "POST", "PUT", "DELETE", "PATCH"):
            answer = wren.client.request(method, address, headers={"Range": "bytes=0-"})
            assert answer.status_code in SHUT, (method, address)
            assert len(answer.content) < 100


def test_a_stranger_reaches_no_route_at_all(besieged: Besieged, stranger: ForgingPage) -> None:
    stranger.client.get("/sign-in")
    photos = [f"/photos/{p.id}/{kind}.jpg" for p in besieged.school.photos for kind in ("screen", "thumbnail")]
    sets = [f"/set-photos/{besieged.school.photos[2].id}/{kind}.jpg" for kind in ("screen", "thumbnail")]
    for address in [*addresses(besieged), *photos, *sets, "/own-data/my-data.zip", "/consent-form.pdf"]:
        answer = stranger.client.get(address)
        assert answer.status_code in SHUT, address
        assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "path",
    [
        "/photos/..%2f..%2frecords.sqlite3/screen.jpg",
        "/photos/%00/screen.jpg",
        "/door/..%2fgate.py",
        "/app/static/records.sqlite3",
        "/media/../records.sqlite3",
        "/component/../app.py",
        "/_stcore/bidi-components/latch_and_line_editor/..%2f..%2fapp.py",
        "/static/..%2f..%2fapp.py",
        "/%2e%2e/app.py",
        "/%5c%5chost/share",
    ],
)
def test_tricks_with_paths_give_no_file(wren: ForgingPage, path: str) -> None:
    answer = wren.client.get(path)
    assert answer.status_code < 500
    assert b"SQLite format" not in answer.content
    assert b"streamlit run app.py" not in answer.content


def test_the_own_data_of_a_student_hold_nothing_of_another(besieged: Besieged, wren: ForgingPage) -> None:
    answer = wren.client.get("/own-data/my-data.zip", params={"person": "lark", "id": besieged.attempt_of_lark})
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "private, no-store"
    for other in (besieged.attempt_of_lark, "lark"):
        assert other.encode() not in answer.content


def test_a_cookie_played_back_after_signing_out_opens_nothing(besieged: Besieged) -> None:
    page = ForgingPage.of(besieged.url).sign_in("wren")
    kept, photo = page.client.cookies[SESSION], f"/photos/{besieged.school.photos[0].id}/screen.jpg"
    assert page.client.get(photo).status_code == 200
    page.open()
    send_form(page.client, besieged.url, "/sign-out")
    page.client.cookies.set(SESSION, kept)
    assert page.client.get(photo).status_code == 401
    page.forge()
    assert "Please sign in" in page.everything()
    assert photo.rpartition("/")[0] not in page.everything()
    page.close()


def test_another_name_for_this_computer_opens_no_page(wren: ForgingPage) -> None:
    for path in ("/", "/sign-in", "/own-data/my-data.zip", "/_stcore/health"):
        assert wren.client.get(path, headers={"Host": "elsewhere.example"}).status_code == 421


@pytest.mark.parametrize("origin", ["https://elsewhere.example", "http://localhost:1", "null"])
def test_a_socket_from_a_page_of_another_address_is_refused_and_nobody_is_asked(
    besieged: Besieged, origin: str
) -> None:
    with pytest.raises(InvalidStatus) as refused:
        connect(besieged.url.replace("http", "ws") + "/_stcore/stream", origin=origin)  # type: ignore[arg-type]
    assert refused.value.response.status_code == 403
    # Streamlit would ask a server on the internet for this computer's address, and say that it could not.
    assert "external IP" not in besieged.log.read_text()


def test_headers_of_pages_and_files(besieged: Besieged, wren: ForgingPage) -> None:
    photo = wren.client.get(f"/photos/{besieged.school.photos[0].id}/screen.jpg")
    assert photo.headers["cache-control"] == "private, no-store"
    for path in ("/", "/people", "/sign-in", "/door/look.css", "/_stcore/health", "/media/x"):
        answer = wren.client.get(path)
        assert answer.headers["x-content-type-options"] == "nosniff", path
        assert answer.headers["cross-origin-resource-policy"] == "same-origin", path
        if answer.headers["content-type"].startswith("text/html"):
            assert "frame-ancestors" in answer.headers["content-security-policy"]
            assert answer.headers["referrer-policy"] == "same-origin"


@pytest.mark.parametrize(
    "handle",
    ["", "\x00heron", "heron\r\nSet-Cookie: a=b", "x" * 9_000, "\u04bberon", "heron' OR 1=1 --"],
)
def test_odd_names_at_the_door_get_one_sentence(besieged: Besieged, handle: str) -> None:
    page = ForgingPage.of(besieged.url)
    answer = send_form(page.client, besieged.url, "/sign-in", handle=handle, password=PASSWORD)
    assert answer.status_code in (400, 429)
    assert answer.text.count('role="alert"') == 1
    assert "a=b" not in str(answer.headers)
    assert SESSION not in page.client.cookies
    page.close()


def test_where_to_go_after_signing_in_is_not_for_the_asker_to_choose(besieged: Besieged) -> None:
    page = ForgingPage.of(besieged.url)
    page.client.follow_redirects = False
    answer = send_form(
        page.client, besieged.url, "/sign-in", "/sign-in?next=https://elsewhere.example",
        handle="wren", password=PASSWORD, next="//elsewhere.example", to="https://elsewhere.example",
    )  # fmt: skip
    assert answer.headers["location"] == "/"
    assert MARK in page.client.cookies
    page.close()
