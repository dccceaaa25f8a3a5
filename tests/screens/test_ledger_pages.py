"""The ledger and one's own data as a person meets them, and the routes behind their links."""

import json
import zipfile
from collections.abc import Iterator, MutableMapping
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from own_loop import run_beside
from records_scene import consents_on_record
from starlette.applications import Starlette
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from records.consent.consents import ConsentRecord, DollDeclaration, NewConsent, Scope
from records.consent.ledger import own_consents, put_on_record
from records.consent.scans import add_scan
from records.consent.withdrawal import withdraw
from records.identity.people import Role, add_person
from records.models import BundleRow, SetRow, VersionRow
from records.photo.photos import PhotoRecord, add_photo, list_photos
from screens import data
from screens.door.cookies import MARK, new_mark
from screens.door.visitor import secret_of
from screens.ledger import scan as ledger_scan
from screens.ledger import words as ledger_words
from screens.ledger.routes import ledger_routes
from vision.images import Photo, encode_jpeg

MAIN = str(Path(__file__).resolve().parent.parent.parent / "screens" / "main.py")
PDF = b"%PDF-1.7 a signed form"


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    monkeypatch.setattr(data, "add_shipped_samples", lambda _: None)
    data._opened.cache_clear()
    yield
    data.store().close()
    data._opened.cache_clear()


def page(name: str) -> AppTest:
    test = AppTest.from_file(MAIN, default_timeout=60)
    test._page_hash = calc_hash(name)
    test.run()
    assert not test.exception
    return test


def said(test: AppTest) -> str:
    kinds = ("title", "header", "markdown", "error", "info", "success")
    parts = [str(element.value) for kind in kinds for element in test.get(kind)]
    return "\n".join([*parts, *(html.proto.body for html in test.get("html"))])


def press(test: AppTest, label: str) -> AppTest:
    (button,) = [one for one in test.button if one.label == label]
    button.click().run()
    assert not test.exception
    return test


def fill(test: AppTest, label: str, text: str) -> None:
    (field,) = [one for one in test.text_input if one.label == label]
    field.set_value(text)


def select(test: AppTest, label: str, option: str) -> None:
    (box,) = [one for one in test.selectbox if one.label == label]
    box.set_value(option).run()
    assert not test.exception


def consent(shown: str, *, days: int = 200) -> NewConsent:
    today = data.store().today()
    return NewConsent(
        shown=shown,
        given_by="the adult shown",
        authority="the same, its parent",
        scopes=frozenset({Scope.OWN_PRACTICE, Scope.OWN_CLASS, Scope.PRINTED}),
        faces_covered=True,
        given_on=today - timedelta(days=1),
        expires_on=today + timedelta(days=days),
        form_version="form 2",
    )


def on_record(shown: str, *, days: int = 200) -> ConsentRecord:
    return put_on_record(data.store(), data.me(), consent(shown, days=days))


def photo_under(allowed_by: NewConsent | DollDeclaration | str) -> PhotoRecord:
    jpeg = encode_jpeg(Photo(pixels=np.full((90, 120, 3), 180, np.uint8)))
    return add_photo(
        data.store(), data.me(), jpeg=jpeg, screen_jpeg=jpeg, width=120, height=90, title="Pair", consent=allowed_by
    )


def went_to(photo: PhotoRecord, to_whom: str) -> None:
    store, me = data.store(), data.me()
    with store.writing() as session:
        session.add(SetRow(id="5" * 32, owner_id=me.id, title="Set", made_at=store.now()))
        session.flush()
        session.add(
            VersionRow(
                id="7" * 32,
                set_id="5" * 32,
                number=1,
                state="published",
                notes="",
                made_at=store.now(),
                revision=1,
                published_at=store.now(),
            )
        )
        session.flush()
        session.add(
            BundleRow(
                id="b" * 32,
                version_id="7" * 32,
                made_by=me.id,
                made_at=store.now(),
                to_whom=to_whom,
                sha256=None,
                file_name=None,
                photo_ids=[photo.id],
            )
        )


def test_an_empty_ledger_says_how_consents_come_in() -> None:
    words = said(page("consents"))
    assert "Every photo of people rests on a consent" in words
    assert "No consent here fits" in words
    assert "/consent-form.pdf" in words


def test_a_consent_is_put_on_record_without_a_photo() -> None:
    test = page("consents")
    fill(test, "Label for who is shown, not a name", "pair 9")
    fill(test, "Who agreed, in what relation", "the adult shown")
    fill(test, "For the child: who has authority, in what relation", "the same, its parent")
    press(test, "Put on record")
    assert "The consent for “pair 9” is on record" in said(test)
    [made] = consents_on_record(data.store(), data.me())
    assert (made.shown, made.authority, made.scopes) == (
        "pair 9",
        "the same, its parent",
        frozenset({Scope.OWN_PRACTICE}),
    )
    assert "For the child: the same, its parent" in said(test)
    assert [one.value for one in test.text_input if one.label.startswith("Label")] == [""]


def test_a_form_with_something_missing_puts_nothing_on_record_and_says_what() -> None:
    test = press(page("consents"), "Put on record")
    [error] = test.error
    assert "who is shown" in error.value
    assert consents_on_record(data.store(), data.me()) == ()


def test_what_ends_soon_stands_first_and_filters_and_finding_narrow_the_list() -> None:
    on_record("pair late")
    on_record("pair soon", days=3)
    photo_under(DollDeclaration(confirmed=True, shown="doll Q"))
    test = page("consents")
    words = said(test)
    assert words.index("pair soon") < words.index("pair late")
    assert "ends in 3 days" in words
    assert "2 consents, 1 ending within 30 days" in words
    assert "doll Q" not in words
    select(test, "Show", "Ending within 30 days")
    assert "pair late" not in said(test)
    select(test, "Show", "All")
    select(test, "Who is shown", "Dolls")
    assert "doll Q" in said(test)
    assert "pair soon" not in said(test)
    select(test, "Who is shown", "Both")
    (find,) = [one for one in test.text_input if one.label == "Find a label"]
    find.set_value("LATE").run()
    words = said(test)
    assert "pair late" in words
    assert "pair soon" not in words


def test_a_student_sees_the_own_lines_only_and_an_educator_may_look_at_everyone_s(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    on_record("pair of the educator")
    with data.store().writing() as session:
        student = add_person(data.store(), session, "student 1", frozenset({Role.STUDENT}))
    put_on_record(data.store(), student, consent("pair of the student"))
    words = said(page("consents"))
    assert "pair of the student" in words
    assert "put on record by student 1" in words
    monkeypatch.setattr(data, "visitor", lambda: student)
    test = page("consents")
    assert "pair of the student" in said(test)
    assert "pair of the educator" not in said(test)
    assert "Whose" not in [one.label for one in test.radio]


def test_a_long_list_is_shown_a_part_at_a_time() -> None:
    for n in range(23):
        on_record(f"pair {n}")
    test = page("consents")
    assert len([one for one in test.button if one.label.startswith("Withdraw: ")]) == 20
    press(test, "Show 3 more")
    assert len([one for one in test.button if one.label.startswith("Withdraw: ")]) == 23


def test_withdrawing_says_before_what_will_happen_and_afterwards_what_happened_and_who_holds_copies() -> None:
    photo = photo_under(consent("pair 3"))
    went_to(photo, "Linden Room, second campus")
    test = press(page("consents"), "Withdraw: pair 3")
    words = said(test)
    assert "1 photo that rests on it will be removed at once" in words
    assert "What was handed in keeps its answers and measures, without the picture" in words
    assert "Backups made before this still hold the photos" in words
    assert "Nobody can undo this" in words
    assert "Linden Room, second campus: 1 photo" in words
    assert list_photos(data.store(), data.me()) == (photo,)
    press(test, "Withdraw now")
    words = said(test)
    assert "The consent for “pair 3” is withdrawn since" in words
    assert "1 photo is gone" in words
    assert "Linden Room, second campus: 1 photo" in words
    assert "destroy" in words
    assert list_photos(data.store(), data.me()) == ()
    assert "Withdraw: pair 3" not in [one.label for one in test.button]
    [line] = own_consents(data.store(), data.me())
    assert not line.stands


def test_one_may_think_better_of_it() -> None:
    on_record("pair 3")
    test = press(press(page("consents"), "Withdraw: pair 3"), "Leave it as it is").run()
    assert "Withdraw now" not in [one.label for one in test.button]
    assert own_consents(data.store(), data.me())[0].stands


def test_a_scan_can_be_saved_and_removed_from_its_line() -> None:
    made = on_record("pair 3")
    add_scan(data.store(), data.me(), made.id, PDF)
    test = page("consents")
    assert f"/consent-scans/{made.id}/form" in said(test)
    press(test, "Remove the scan")
    assert "is removed" in said(test)
    assert not own_consents(data.store(), data.me())[0].has_scan


def test_a_photographed_form_is_rebuilt_from_its_pixels_and_a_pdf_stays_as_it_is() -> None:
    jpeg = encode_jpeg(Photo(pixels=np.full((90, 120, 3), 180, np.uint8)))
    with_a_comment = jpeg[:2] + b"\xff\xfe\x00\x0bseen here" + jpeg[2:]
    assert b"seen here" not in ledger_scan.without_more_than_pixels(with_a_comment)
    assert ledger_scan.without_more_than_pixels(PDF) == PDF


def test_the_words_of_a_line_say_its_state_and_its_uses() -> None:
    on_record("pair 3", days=0)
    [line] = own_consents(data.store(), data.me())
    assert ledger_words.state(line) == "ends today"
    assert ledger_words.uses(line) == "own practice, a class, printed or exported material"


def choosing() -> None:
    """A page with nothing but the choice."""
    import streamlit as st

    from screens.uploads.standing_consent import choose

    st.write(f"chosen: {choose('here')}")


def test_where_a_photo_is_added_only_consents_in_force_that_cover_practice_are_offered() -> None:
    test = AppTest.from_function(choosing, default_timeout=30).run()
    assert [one.value for one in test.markdown] == ["chosen: None"]
    assert list(test.selectbox) == []
    made = on_record("pair 3")
    on_record("pair over", days=-1)
    withdraw(data.store(), data.me(), on_record("pair gone").id)
    put_on_record(data.store(), data.me(), replace(consent("prints only"), scopes=frozenset({Scope.PRINTED})))
    test = AppTest.from_function(choosing, default_timeout=30).run()
    (box,) = test.selectbox
    assert [words.split(",")[0] for words in box.options] == ["A consent that is not on record yet", "pair 3"]
    box.select_index(1).run()
    assert test.markdown[-1].value == f"chosen: {made.id}"


def get(address: str, *, known: bool = True) -> tuple[int, dict[str, str], bytes]:
    """Status, headers and body of an address, asked for by this computer's browser or by one that nobody knows."""
    cookie = f"{MARK}={new_mark(secret_of(data.store()))}" if known else ""
    scope = {
        "type": "http",
        "method": "GET",
        "path": address,
        "raw_path": address.encode(),
        "query_string": b"",
        "headers": [(b"host", b"localhost"), (b"cookie", cookie.encode())],
        "server": ("localhost", 80),
        "client": ("127.0.0.1", 1),
        "scheme": "http",
        "root_path": "",
        "http_version": "1.1",
    }
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(dict(message))

    run_beside(Starlette(routes=ledger_routes())(scope, receive, send))
    headers = {name.decode().lower(): value.decode() for name, value in sent[0]["headers"]}
    return sent[0]["status"], headers, b"".join(message.get("body", b"") for message in sent[1:])


def test_scan_form_and_own_data_go_to_whoever_may_have_them_and_are_never_kept_in_between() -> None:
    made = on_record("pair 3")
    add_scan(data.store(), data.me(), made.id, PDF)
    status, headers, body = get(f"/consent-scans/{made.id}/form")
    assert (status, body) == (200, PDF)
    assert headers["content-type"] == "application/pdf"
    assert headers["content-disposition"] == 'attachment; filename="consent-form.pdf"'
    assert headers["cache-control"] == "private, no-store"
    assert get("/consent-form.pdf")[2].startswith(b"%PDF-")
    with zipfile.ZipFile(BytesIO(get("/own-data/my-data.zip")[2])) as found:
        assert [one["shown"] for one in json.loads(found.read("consents.json"))] == ["pair 3"]


def test_without_a_session_the_addresses_give_nothing_and_an_unknown_id_tells_nothing() -> None:
    made = on_record("pair 3")
    add_scan(data.store(), data.me(), made.id, PDF)
    for address in (f"/consent-scans/{made.id}/form", "/own-data/my-data.zip", "/consent-form.pdf"):
        status, headers, body = get(address, known=False)
        assert (status, headers["cache-control"]) == (401, "private, no-store")
        assert PDF not in body
    assert get(f"/consent-scans/{'0' * 32}/form")[0] == 404


def test_my_data_offers_the_zip_and_erases_only_after_a_tick() -> None:
    photo_under(DollDeclaration(confirmed=True, shown="doll Q"))
    before = data.me()
    test = page("my-data")
    assert "/own-data/my-data.zip" in said(test)
    (button,) = [one for one in test.button if one.label == "Erase my data"]
    assert button.disabled
    test.checkbox(key="erase-sure").check().run()
    press(test, "Erase my data")
    assert data.me().id != before.id
    assert list_photos(data.store(), data.me()) == ()
