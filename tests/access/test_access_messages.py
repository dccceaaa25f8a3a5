"""Messages written by hand over the socket of a page: pages, queries, widgets and values that were never offered."""

import json

import pytest
from streamlit.util import calc_hash

from records.attempt.attempts import resume
from records.classroom import class_work
from tests.access.conftest import Besieged, people_of
from tests.access.forging import ForgingPage, editor_of, point
from tests.journeys.school import first_person, records_of

TEACHERS_PAGES = (
    "classes", "class", "given", "review", "projector", "submission", "sets", "set", "many-photos", "key", "experts", "people",
)  # fmt: skip


def secrets_of(place: Besieged) -> tuple[str, ...]:
    """What must not be sent to wren: another's name and work, what only the key says, the consent's label."""
    return ("lark", "a gap is left", "one stroke joins them", "pair 3", place.attempt_of_lark)


@pytest.mark.parametrize("name", TEACHERS_PAGES)
def test_a_page_that_is_not_listed_for_students_shows_them_nothing(
    besieged: Besieged, wren: ForgingPage, name: str
) -> None:
    wren.open()
    school = besieged.school
    asked = {
        "id": school.class_id, "work": besieged.work, "version": school.version_id, "attempt": besieged.attempt_of_lark,
        "photo": school.photos[2].id, "names": "1", "preview": besieged.work, "slot": "1",
    }  # fmt: skip
    for query in ("", "&".join(f"{key}={value}" for key, value in asked.items())):
        wren.forge(page_hash=calc_hash(name), query=query)
        everything = wren.everything()
        assert not [secret for secret in secrets_of(besieged) if secret in everything]
        assert not [error for error in wren.errors if "Traceback" in error or "sqlalchemy" in error]


@pytest.mark.parametrize("name", ["practise", "feedback", "progress", "my-work"])
def test_the_address_of_anothers_attempt_shows_nothing_of_it(besieged: Besieged, wren: ForgingPage, name: str) -> None:
    for query in (
        {"attempt": besieged.attempt_of_lark},
        {"work": besieged.work, "attempt": besieged.attempt_of_lark, "person": "lark"},
        {"preview": besieged.work, "slot": "1"},
        {"attempt": "'; drop table attempt; --" + "x" * 5000},
    ):
        wren.open(name, **query)
        # What was typed into the address may come back as the name of a part of the page.
        everything = wren.everything().replace(besieged.attempt_of_lark, "")
        assert not [secret for secret in secrets_of(besieged) if secret in everything]


def test_the_key_stays_shut_until_the_rule_opens_it(besieged: Besieged) -> None:
    lark = ForgingPage.of(besieged.url).sign_in("lark")
    lark.open("feedback", attempt=besieged.attempt_of_lark)
    assert "The key is shown when your instructor opens it" in lark.everything()
    hidden = [str(reason) for reason in json.loads(key_reasons(besieged))]
    assert hidden
    assert not [reason for reason in hidden if reason in lark.everything()]
    lark.close()


def key_reasons(place: Besieged) -> str:
    """The reasons that the key of the first photo gives, which no student has seen."""
    from tests.journeys.school import truth

    key = truth(place.school.photos[0].sample_id)["key"]
    return json.dumps([answer["why"] for answer in key["answers"].values() if answer.get("why")])


def test_a_stranger_is_shown_the_way_in_whatever_is_asked(besieged: Besieged, stranger: ForgingPage) -> None:
    stranger.open()
    for name in ("start", "people", "review", "practise", "my-data", "consents"):
        stranger.forge(page_hash=calc_hash(name), query=f"attempt={besieged.attempt_of_lark}&work={besieged.work}")
        everything = stranger.everything()
        assert "Please sign in" in everything
        assert not [secret for secret in ("/photos/", "heron", *secrets_of(besieged)) if secret in everything]


def test_buttons_of_other_pages_pressed_by_id_do_nothing(besieged: Besieged, wren: ForgingPage) -> None:
    teacher = ForgingPage.of(besieged.url).sign_in("heron")
    teacher.open("given", work=besieged.work)
    ids = [found.id for found in teacher.shows("button")]
    teacher.open("people")
    ids += [found.id for found in teacher.shows("button")]
    teacher.close()
    assert len(ids) > 5
    for name in ("start", "given", "people"):
        wren.open()
        for one in ids:
            wren.forge({one: ("trigger_value", True)}, page_hash=calc_hash(name), query=f"work={besieged.work}")
    with records_of(besieged.data) as store:
        answers = class_work.answers_of(store, first_person(store), besieged.work, with_names=True)
        assert len(answers.submissions) == 1
    lark = ForgingPage.of(besieged.url).sign_in("lark")
    lark.open("feedback", attempt=besieged.attempt_of_lark)
    assert "The key is shown when your instructor opens it" in lark.everything()
    lark.close()


ODD_EDITS = [
    "null", "[]", "0", '"text"', "{", "[" * 50_000, '{"edit": 5}', '{"edit": {"edit": 1}}',
    json.dumps({"edit": {"edit": 1, "revision": 0, "points": {"chin": point("1", True)}}}),
    '{"edit": {"edit": 1, "revision": 0, "points": {"chin": {"x": NaN, "y": Infinity, "v": 2}}}}',
    '{"edit": {"edit": 1, "revision": 0, "points": {"chin": {"x": 1' + "0" * 400 + ', "y": 0, "v": 2}}}}',
    '{"edit": {"edit": 1' + "0" * 5000 + ', "revision": 0, "points": {}}}',
    json.dumps({"edit": {"edit": 1, "revision": 0, "points": {f"p{n}": point(0.5, 0.5) for n in range(5_000)}}}),
    json.dumps({"edit": {"edit": 1, "revision": 0, "points": {}, "pins": {f"p{n}": {"x": 0, "y": 0} for n in range(65)}}}),
    json.dumps({"edit": {"edit": 1, "revision": 0, "points": {"chin": point(-0.1, 2)}}}),
    json.dumps({"edit": {"edit": 1, "revision": 0, "points": {}, "box": [0, 0, 9, 9]}}),
]  # fmt: skip


def test_forged_edits_leave_the_page_standing_and_the_record_unchanged(
    besieged: Besieged, at_the_editor: tuple[ForgingPage, str]
) -> None:
    page, attempt_id = at_the_editor
    good = {
        "edit": {"edit": 2, "revision": 0, "points": {"chin": point(0.5, 0.25)}, "attempt": besieged.attempt_of_lark}
    }
    for edit in [*ODD_EDITS, json.dumps(good)]:
        # Loaded anew each time: text that is no JSON stays with Streamlit's session and stops that page only.
        page.open("practise", attempt=attempt_id)
        editor = editor_of(page)
        page.forge({editor.id: ("json_value", edit)}, fragment=page.fragments[editor.id])
        assert "Traceback" not in page.alerts()
    with records_of(besieged.data) as store:
        people = people_of(store)
        kept = resume(store, people["wren"], attempt_id).landmarks(1)
        assert set(kept.points) == {"chin"}
    page.open("practise", attempt=attempt_id)
    assert editor_of(page)


def test_a_page_that_changed_hands_gives_nothing_of_the_one_before(
    besieged: Besieged, at_the_editor: tuple[ForgingPage, str]
) -> None:
    """The socket of wren's page is taken up with the cookies of lark, and only a part of it is asked for."""
    page, attempt_id = at_the_editor
    editor = editor_of(page)
    fragment = page.fragments[editor.id]
    sent = {"edit": {"edit": 3, "revision": 0, "points": {"nose_tip": point(0.4, 0.4)}}}
    other = ForgingPage.of(besieged.url).sign_in("lark")
    page.take_up(other)
    other.close()
    page.elements.clear()
    page.forge({editor.id: ("json_value", json.dumps(sent))}, fragment=fragment)
    assert not page.shows("bidi_component")
    with records_of(besieged.data) as store:
        people = people_of(store)
        assert "nose_tip" not in resume(store, people["wren"], attempt_id).landmarks(1).points


def test_bytes_that_are_no_message_do_not_end_the_program(besieged: Besieged, wren: ForgingPage) -> None:
    wren.open()
    for body in (b"", b"\xff" * 100, b"\x00" * 1_000_000):
        wren.send_raw(body)
    other = ForgingPage.of(besieged.url).sign_in("wren")
    other.open()
    assert not other.errors
    other.close()
