"""Files sent past the page, and what the program's own log holds at its most talkative."""

from pathlib import Path

import httpx
import pytest

from screens.door.cookies import MARK, SESSION
from tests.access.conftest import Besieged
from tests.access.forging import ForgingPage, put, send_form
from tests.journeys.people import PASSWORD
from tests.served import serve, stop


def test_a_stranger_with_an_open_page_leaves_no_file_in_memory(stranger: ForgingPage) -> None:
    stranger.open()
    assert stranger.session_id
    answer = put(stranger, b"x" * 1000)
    assert (answer.status_code, answer.text) == (401, "Open the program's page and sign in first.")


def test_a_student_sends_no_more_than_a_file_may_have_and_only_to_a_page_that_is_there(wren: ForgingPage) -> None:
    wren.open()
    assert put(wren, b"x" * 1000).status_code == 204
    assert put(wren, b"x" * 1000, session_id="0" * 36).status_code == 400
    assert put(wren, b"x" * (31 * 2**20)).status_code == 413
    without_token = wren.client.put(f"/_stcore/upload_file/{wren.session_id}/b", files={"file": ("a.jpg", b"x")})
    assert without_token.status_code == 403


def test_an_educator_may_send_a_bundle_that_is_larger_than_a_photo(besieged: Besieged) -> None:
    heron = ForgingPage.of(besieged.url).sign_in("heron")
    try:
        heron.open()
        assert put(heron, b"x" * (31 * 2**20)).status_code == 204
    finally:
        heron.close()


def test_a_body_that_says_nothing_of_its_length_is_cut_off(wren: ForgingPage) -> None:
    wren.open()
    wren.client.get("/_stcore/health")
    head = b'--b\r\nContent-Disposition: form-data; name="f"; filename="a.jpg"\r\n\r\n'

    def endless():  # type: ignore[no-untyped-def]
        yield head
        for _ in range(40):
            yield b"x" * 2**20

    try:
        answer = wren.client.put(
            f"/_stcore/upload_file/{wren.session_id}/c",
            content=endless(),
            headers={
                "X-Xsrftoken": wren.client.cookies["_streamlit_xsrf"],
                "Content-Type": "multipart/form-data; boundary=b",
            },
        )
        assert answer.status_code == 413
    except httpx.WriteError:
        # The program closed the line while more was being sent.
        pass
    assert wren.client.get("/_stcore/health").status_code == 200


@pytest.mark.parametrize("length", [20_000, 5_000_000])
def test_a_form_that_is_too_long_is_refused(besieged: Besieged, length: int) -> None:
    page = ForgingPage.of(besieged.url)
    try:
        answer = send_form(page.client, besieged.url, "/join", handle="x" * length, code="abcd-efgh")
        assert answer.status_code == 403
    except (httpx.WriteError, httpx.ReadError):
        pass
    page.close()


def test_the_log_at_its_most_talkative_holds_no_password_code_or_token(besieged: Besieged) -> None:
    page = ForgingPage.of(besieged.url).sign_in("wren")
    page.open()
    other = ForgingPage.of(besieged.url)
    send_form(other.client, besieged.url, "/sign-in", handle="wren", password="a password that is wrong")
    send_form(other.client, besieged.url, "/join", code="zzzz-yyyy", handle="newt", password=PASSWORD, again=PASSWORD)
    hidden = (
        PASSWORD,
        "a password that is wrong",
        "zzzz-yyyy",
        besieged.school.code,
        page.client.cookies[SESSION],
        page.client.cookies[MARK],
    )
    send_form(page.client, besieged.url, "/sign-out")
    page.close()
    other.close()
    log = besieged.log.read_text()
    # Streamlit tells its sessions at this level, so the log is as talkative as was asked.
    assert "Session" in log
    assert not [secret for secret in hidden if secret in log]
    database = (besieged.data / "records.sqlite3").read_bytes()
    assert not [secret for secret in hidden if secret.encode() in database]


def test_what_waits_in_memory_has_an_end_for_one_person_over_all_pages(besieged: Besieged, tmp_path: Path) -> None:
    """A program of its own on the same school, whose share for one person is two megabytes and for all three."""
    url, process = serve(
        "tests/access/small_memory_app.py", tmp_path / "log", {"LATCH_AND_LINE_DATA": str(besieged.data)}
    )
    try:
        first, second, lark = (ForgingPage.of(url).sign_in(name) for name in ("wren", "wren", "lark"))
        for page in (first, second, lark):
            page.open()
        megabyte = b"x" * 2**20
        assert [put(page, megabyte, name=name).status_code for page, name in ((first, "a"), (second, "b"))] == [
            204,
            204,
        ]
        for page in (first, second):
            refused = put(page, megabyte, name="c")
            assert (refused.status_code, refused.text.split(";")[0]) == (413, "Too many files wait to be kept")
        assert [put(lark, megabyte, name=name).status_code for name in "de"] == [204, 413]
        second.close()
        # Streamlit lets go of a closed page's files after a while; one that is taken away goes at once.
        gone = first.client.delete(
            f"/_stcore/upload_file/{first.session_id}/a",
            headers={"X-Xsrftoken": first.client.cookies["_streamlit_xsrf"]},
        )
        assert gone.status_code == 204
        assert put(first, megabyte, name="f").status_code == 204
        first.close()
        lark.close()
    finally:
        stop(process)
