"""The pages behind the door, without a browser: who sees which, people and roles, the own account, who is here."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from records.identity import accounts, sessions
from records.identity.people import Person, Role
from records.rights import roles_of
from records.settings import read_settings
from screens import data

MAIN = str(Path(__file__).resolve().parent.parent.parent / "screens" / "main.py")
PASSWORD = "quiet river stones"


class Browser:
    """Whose session the page's browser holds."""

    token: str | None = None


@pytest.fixture(autouse=True)
def browser(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Browser]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path))
    data._opened.cache_clear()
    held = Browser()
    # AppTest has no browser, so no cookies.
    monkeypatch.setattr(data, "session_token", lambda: held.token)
    yield held
    data.store().close()
    data._opened.cache_clear()


@pytest.fixture
def educator(browser: Browser) -> Person:
    signed_in = accounts.first_account(data.store(), handle="heron", password=PASSWORD)
    browser.token = signed_in.token
    return signed_in.person


def made(educator: Person, browser: Browser, handle: str, *roles: Role) -> Person:
    """An account made by the educator, whose password is changed and who is signed in."""
    person, first = accounts.make_account(data.store(), educator, handle=handle, roles=frozenset(roles))
    browser.token = accounts.change_password(data.store(), person, first, f"words of {handle} here").token
    return person


def page(name: str) -> AppTest:
    test = AppTest.from_file(MAIN, default_timeout=30)
    test._page_hash = calc_hash(name)
    test.run()
    assert not test.exception
    return test


def said(test: AppTest) -> str:
    kinds = ("title", "header", "subheader", "markdown", "error", "warning", "info", "success", "code")
    parts = [str(element.value) for kind in kinds for element in test.get(kind)]
    return "\n".join([*parts, *(html.proto.body for html in test.get("html"))])


def press(test: AppTest, label: str, at: int = 0) -> AppTest:
    [one for one in test.button if one.label == label][at].click().run()
    assert not test.exception
    return test


def entry_of(educator: Person, handle: str) -> accounts.PersonEntry:
    (entry,) = [one for one in accounts.list_people(data.store(), educator) if one.handle == handle]
    return entry


def test_working_alone_nobody_is_asked_and_the_way_to_a_school_stands_at_the_foot() -> None:
    words = said(page("start"))
    assert "See the latch, see the line" in words
    assert "Open a school on this computer" in words
    assert "Signed in" not in words


@pytest.mark.usefixtures("educator")
def test_signed_in_the_page_says_who_is_here_and_offers_no_second_school() -> None:
    words = said(page("start"))
    assert "Signed in as <b>heron</b>" in words
    assert "Open a school" not in words


@pytest.mark.usefixtures("educator")
@pytest.mark.parametrize("name", ["start", "practise", "feedback", "progress", "people", "account"])
def test_without_a_session_every_page_asks_to_sign_in_and_shows_nothing(browser: Browser, name: str) -> None:
    browser.token = None
    test = page(name)
    words = said(test)
    assert "Please sign in" in words
    assert "/photos/" not in words
    assert "heron" not in words
    assert not [one for one in test.button if "Sign" not in one.label]


def test_a_session_that_ends_while_the_page_is_open_is_asked_again_at_the_next_run(
    educator: Person, browser: Browser
) -> None:
    test = page("start")
    assert "Choose a photo" in said(test)
    sessions.sign_out(data.store(), browser.token)
    test.run()
    assert "Please sign in" in said(test)
    assert "/photos/" not in said(test)
    assert educator.handle not in said(test)


def test_what_one_person_left_in_a_tab_is_gone_when_another_signs_in(educator: Person, browser: Browser) -> None:
    test = page("start")
    test.session_state["half-done"] = "of the heron"
    made(educator, browser, "wren", Role.STUDENT)
    test.run()
    assert "half-done" not in test.session_state
    assert "Signed in as <b>wren</b>" in said(test)


def test_someone_with_a_first_password_is_sent_to_change_it(educator: Person, browser: Browser) -> None:
    _, first = accounts.make_account(data.store(), educator, handle="wren", roles=frozenset({Role.STUDENT}))
    browser.token = accounts.sign_in(data.store(), handle="wren", password=first, from_where="x").token
    words = said(page("start"))
    assert "Choose a password of your own" in words
    assert "/photos/" not in words


def what_is_said_to_nobody() -> None:
    from screens import header

    header.nobody_is_here()


@pytest.mark.usefixtures("educator")
def test_who_is_signed_in_and_comes_upon_a_page_of_another_is_not_sent_to_change_the_password() -> None:
    words = said(AppTest.from_function(what_is_said_to_nobody).run())
    assert "This page was opened by someone else" in words
    assert "<b>heron</b> has signed in since" in words
    assert "password" not in words


def test_an_educator_makes_an_account_and_its_password_is_shown_once(educator: Person) -> None:
    test = page("people")
    test.text_input[0].set_value("Robin")
    press(test, "Make the account")
    (code,) = test.get("code")
    assert accounts.sign_in(data.store(), handle="robin", password=code.value, from_where="x").must_change
    assert entry_of(educator, "robin").roles == {Role.INSTRUCTOR}
    test.run()
    assert not test.get("code")
    assert code.value not in said(test)


def test_a_name_that_is_taken_is_said_in_one_sentence(educator: Person) -> None:
    test = page("people")
    test.text_input[0].set_value("Heron")
    press(test, "Make the account")
    assert [error.value for error in test.error] == ["Someone here has this name already; please choose another."]
    assert len(accounts.list_people(data.store(), educator)) == 1


def test_an_educator_gives_and_takes_roles(educator: Person) -> None:
    robin, _ = accounts.make_account(data.store(), educator, handle="robin", roles=frozenset({Role.STUDENT}))
    test = page("people")
    test.checkbox(key=f"role-educator-{robin.id}").check()
    test.checkbox(key=f"role-student-{robin.id}").uncheck()
    test.button(key=f"roles-{robin.id}").click().run()
    assert not test.exception
    assert roles_of(data.store(), robin.id) == {Role.EDUCATOR}


def test_the_last_educator_is_told_why_the_role_stays(educator: Person) -> None:
    test = page("people")
    test.checkbox(key=f"role-educator-{educator.id}").uncheck()
    test.button(key=f"roles-{educator.id}").click().run()
    assert "Someone must stay who manages people" in test.error[0].value
    assert Role.EDUCATOR in roles_of(data.store(), educator.id)


def test_an_account_is_reset_closed_and_opened_again(educator: Person) -> None:
    robin, first = accounts.make_account(data.store(), educator, handle="robin", roles=frozenset({Role.STUDENT}))
    test = page("people")
    test.button(key=f"reset-{robin.id}").click().run()
    (code,) = test.get("code")
    assert code.value != first
    test.button(key=f"close-{robin.id}").click().run()
    assert entry_of(educator, "robin").closed
    test.button(key=f"open-{robin.id}").click().run()
    assert not entry_of(educator, "robin").closed
    (code,) = test.get("code")
    assert accounts.sign_in(data.store(), handle="robin", password=code.value, from_where="x")


def test_an_instructor_sees_no_one_but_own_students(educator: Person, browser: Browser) -> None:
    made(educator, browser, "robin", Role.INSTRUCTOR)
    test = page("people")
    words = said(test)
    assert "Nobody has joined a class of yours yet." in [info.value for info in test.info]
    assert "heron" not in words
    assert "Make the account" not in [one.label for one in test.button]


def test_a_student_who_types_the_address_of_people_is_refused(educator: Person, browser: Browser) -> None:
    made(educator, browser, "wren", Role.STUDENT)
    test = page("people")
    assert "do not let you" in test.error[0].value
    assert "heron" not in said(test)


def test_a_school_chooses_how_long_sessions_live(educator: Person) -> None:
    test = page("people")
    test.number_input[0].set_value(3)
    press(test, "Keep these choices")
    assert test.success
    assert read_settings(data.store()).idle_hours == 3
    assert educator.id


@pytest.mark.usefixtures("educator")
def test_a_school_chooses_how_much_room_there_is_and_is_told_where_it_makes_no_sense() -> None:
    test = page("people")
    test.number_input[2].set_value(300)
    press(test, "Keep these choices")
    assert read_settings(data.store()).person_megabytes == 300
    test.number_input[3].set_value(200)
    press(test, "Keep these choices")
    assert [error.value for error in test.error] == [
        "Room for files is at least 10 MB for one person, and for all no less than for one."
    ]
    assert read_settings(data.store()).total_megabytes == 50_000


def test_the_own_account_says_roles_and_signs_out_everywhere(educator: Person, browser: Browser) -> None:
    other = accounts.sign_in(data.store(), handle="heron", password=PASSWORD, from_where="x").token
    test = page("account")
    words = said(test)
    assert "You go by heron here." in words
    assert "Educator: builds" in words
    press(test, "Sign out everywhere")
    assert "Please sign in" in said(test)
    for token in (other, browser.token):
        assert sessions.person_for_token(data.store(), token) is None
    assert educator.handle == "heron"


@pytest.mark.parametrize("name", ["people", "account"])
def test_the_pages_of_a_school_say_so_to_someone_who_works_alone(name: str) -> None:
    test = page(name)
    assert "You work alone on this computer" in said(test)
    assert not test.button
