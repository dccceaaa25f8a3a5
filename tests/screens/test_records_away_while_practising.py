"""The records go away while a student scores: one sentence, and nothing that was chosen is lost without a word."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import event
from streamlit.testing.v1 import AppTest
from test_pages import begin, choose, page, press, said

from records.attempt.attempts import Step, resume, save_sheet
from records.attempt.handing_in import history
from records.auditing.audit import append
from records.store import DATABASE_NAME, Store
from rubric.answers import Answer, AnswerSheet, Phase, View
from screens import data
from screens.words import PHASES, VIEWS
from tests.served import serve, stop
from tests.talking import TalkingPage

AWAY = "no longer where it was"
KEPT = "kept on this page and waits to be saved"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    made = tmp_path / "data"
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(made))
    data._opened.cache_clear()
    yield made
    data.store().close()
    data._opened.cache_clear()


def impatient(folder: Path) -> None:
    """Let every connection of the screens' store give up on another writer after a moment, not after ten seconds."""

    def hurry(connection: sqlite3.Connection, _record: object) -> None:
        connection.execute("PRAGMA busy_timeout = 50")

    store = data.store()
    assert store.folder == folder
    store.engine.dispose()
    event.listen(store.engine, "connect", hurry)


def errors(test: AppTest) -> list[str]:
    return [str(one.value) for one in test.error]


def scoring() -> tuple[AppTest, str]:
    """A page on which phase and view are said, so that the signs are there."""
    attempt_id = begin()
    sheet = AnswerSheet(phase=Phase.AT_BREAST, view=View.SIDE)
    save_sheet(data.store(), data.me(), attempt_id, 1, sheet, 0)
    return page("practise", attempt=attempt_id), attempt_id


def a_sign(test: AppTest) -> str:
    return next(one.label for one in test.radio if one.label.startswith("1."))


def on_record(attempt_id: str) -> list[Answer]:
    sheet = resume(data.store(), data.me(), attempt_id).sheet(1)
    return [given.answer for given in sheet.answers.values()]


def test_an_answer_chosen_while_the_records_are_away_is_kept_and_saved_once_they_are_back(folder: Path) -> None:
    test, attempt_id = scoring()
    sign = a_sign(test)
    away = folder.rename(folder.with_name("away"))
    choose(test, sign, "Seen")
    assert [one.count(AWAY) for one in errors(test)] == [1]
    press(test, "Try again")
    assert len(errors(test)) == 1
    away.rename(folder)
    assert on_record(attempt_id) == []
    press(test, "Try again")
    assert errors(test) == []
    assert on_record(attempt_id) == [Answer.SEEN]
    (radio,) = [one for one in test.radio if one.label == sign]
    assert radio.value == Answer.SEEN


def test_nobody_goes_on_from_a_step_whose_answers_are_not_on_record(folder: Path) -> None:
    impatient(folder)
    test, attempt_id = scoring()
    sign = a_sign(test)
    with closing(sqlite3.connect(folder / DATABASE_NAME, isolation_level=None)) as other_program:
        other_program.execute("BEGIN IMMEDIATE")
        choose(test, sign, "Not seen")
        assert ["in use" in one for one in errors(test)] == [True]
        assert KEPT in said(test)
        press(test, "Next: Points and measures")
        assert test.session_state["working"].step == Step.SCORE
        assert ["in use" in one for one in errors(test)] == [True]
        other_program.execute("ROLLBACK")
    press(test, "Next: Points and measures")
    assert errors(test) == []
    assert test.session_state["working"].step == Step.MEASURE
    saved = resume(data.store(), data.me(), attempt_id)
    assert (saved.step, len(saved.sheet(1).answers)) == (Step.MEASURE, 1)


def test_what_waits_is_saved_before_it_is_handed_in(folder: Path) -> None:
    test, attempt_id = scoring()
    sign = a_sign(test)
    for name in ("Points and measures", "Score again"):
        press(test, f"Next: {name}")
    away = folder.rename(folder.with_name("away"))
    choose(test, sign, "Seen")
    assert len(errors(test)) == 1
    away.rename(folder)
    press(test, "Try again")
    press(test, "Next: Hand in")
    press(test, "Hand in")
    [done] = history(data.store(), data.me())
    assert done.attempt_id == attempt_id
    assert [given.answer for given in done.final_sheet.answers.values()] == [Answer.SEEN]


def test_in_a_running_program_the_page_goes_on_where_it_was_and_shows_what_is_on_record(
    folder: Path, tmp_path: Path
) -> None:
    """Over Streamlit's own socket: an answer reruns its own part of the page only, as in a browser."""
    data.store().close()
    data._opened.cache_clear()
    shutil.rmtree(folder)
    url, process = serve("app.py", tmp_path / "server.log", {"LATCH_AND_LINE_DATA": str(folder)})
    visitor = TalkingPage.of(url)
    try:
        visitor.open()
        visitor.press("Practise on this photo")
        visitor.choose("When was it taken?", PHASES[Phase.AT_BREAST])
        visitor.choose("From where?", VIEWS[View.SIDE])
        signs = [label for label in visitor.labels("radio") if label[0].isdigit()]
        away = folder.rename(folder.with_name("away"))
        visitor.choose(signs[0], "Seen")
        assert [AWAY in said for said in visitor.errors] == [True]
        visitor.choose(signs[1], "Not seen")
        visitor.errors.clear()
        away.rename(folder)
        visitor.press("Save now")
        assert visitor.errors == []
        assert not [one for one in visitor.shows("alert") if one.format == one.ERROR]
        visitor.open("practise", attempt=visitor.asked["attempt"][0])
        shown = {one.label: one.options[one.default] for one in visitor.shows("radio") if one.HasField("default")}
        assert (shown[signs[0]], shown[signs[1]]) == ("Seen", "Not seen")
    finally:
        visitor.close()
        stop(process)
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as records:
        (answers,) = records.execute("SELECT answers FROM sheet").fetchone()
    assert answers.count('"seen"') == 1
    assert answers.count('"not_seen"') == 1


def test_a_clock_that_is_behind_is_told_and_the_page_works_on(folder: Path) -> None:
    begin()
    ahead = datetime.now(UTC) + timedelta(days=40)
    data.store().close()
    later = Store.open(folder, now=lambda: ahead)
    with later.writing() as session:
        append(later, session, actor_id=None, action="backup")
    later.close()
    data._opened.cache_clear()
    test = page("start")
    [warning] = [str(one.value) for one in test.warning]
    local = ahead.astimezone()
    assert f"from {local.day} {local:%B %Y} on" in warning
    assert errors(test) == []
    assert data.store().today() == ahead.astimezone().date()
