"""A class in the browser: given, joined, worked through, handed in, read, handed back, and a consent withdrawn."""

import hashlib
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from records.attempt.attempts import Order
from records.classroom import assignments, class_work
from records.classroom.class_values import KeyRule
from records.identity.people import Person
from tests.journeys.people import (
    PASSWORD,
    Server,
    answer_all,
    card,
    first_account,
    pictures_shown,
    press,
    rows,
    say_when_and_where,
    settle,
    sign_in,
)
from tests.journeys.school import (
    School,
    first_person,
    give,
    open_school,
    publish,
    records_of,
    samples,
    student,
    works,
)

#: Three shipped photos: two from the side at the breast, one before the latch.
NAMES = ("cradle_side", "medium_side", "narrow_side")


@pytest.fixture
def people(browser: Browser, run_program: Callable[[], Server]) -> Iterator[Callable[[], Page]]:  # noqa: ARG001
    """Opens a page in a browser profile of its own, as another person's machine would."""
    contexts = []
    faults: list[str] = []

    def another() -> Page:
        context = browser.new_context(viewport={"width": 1360, "height": 900})
        contexts.append(context)
        tab = context.new_page()
        tab.set_default_timeout(30_000)
        tab.on("pageerror", lambda error: faults.append(f"script error: {error}"))
        tab.on("response", lambda answer: faults.append(answer.url) if answer.status >= 500 else None)
        return tab

    yield another
    for context in contexts:
        context.close()
    assert faults == []


def at(page: Page, server: Server, path: str) -> None:
    page.goto(f"{server.url}/{path}")
    page.wait_for_timeout(300)
    settle(page)


def join(page: Page, server: Server, code: str, handle: str) -> None:
    page.goto(f"{server.url}/join")
    page.get_by_label("Class code").fill(code)
    page.get_by_label("Name you go by here").fill(handle)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("The same once more").fill(PASSWORD)
    page.get_by_role("button", name="Make an account and join").click()
    expect(page.get_by_text(f"Signed in as {handle}")).to_be_visible()
    settle(page)


def score_and_hand_in(page: Page, answers: list[str]) -> None:
    """From the first step of a photo to handing it in, measure-first or score-first."""
    expect(page.get_by_role("heading", name=re.compile(r"^Photo \d of \d"))).to_be_visible()
    settle(page)
    if page.get_by_role("button", name="Next: Score", exact=True).count():
        press(page, "Next: Score")
        say_when_and_where(page, "At the breast", "Side")
        answer_all(page, answers)
    else:
        say_when_and_where(page, "At the breast", "Side")
        answer_all(page, answers)
        press(page, "Next: Points and measures")
        press(page, "Next: Score again")
    press(page, "Next: Hand in")
    press(page, "Hand in")
    expect(page.get_by_role("heading", name=re.compile("^Feedback: photo"))).to_be_visible()
    settle(page)


def test_an_instructor_gives_a_set_and_three_students_hand_it_in(
    page: Page, people: Callable[[], Page], run_program: Callable[[], Server]
) -> None:
    server = run_program()
    first_account(page, server.url)
    with records_of(server.data) as store:
        publish(store, first_person(store), samples(store, first_person(store), NAMES))

    page.get_by_role("link", name="Classes", exact=True).click()
    page.get_by_label("Name of the class").fill("Linden Room, spring course")
    press(page, "Make the class")
    expect(page.get_by_role("heading", name="Linden Room, spring course")).to_be_visible()
    settle(page)
    page.get_by_role("textbox", name="What students read above it").fill("Week 2, three photos")
    page.get_by_text("Measure first, then score", exact=True).click()
    settle(page)
    press(page, "Give it to the class")
    expect(page.get_by_role("heading", name="Week 2, three photos")).to_be_visible()
    press(page, "Back to the class")
    page.get_by_role("tab", name="Students").click()
    press(page, "Make a code")
    code = page.locator("output.ll-code").inner_text()
    assert re.fullmatch(r"[a-z0-9]{4}-[a-z0-9]{4}", code)

    students = {}
    for handle in ("wren", "robin", "finch"):
        students[handle] = people()
        join(students[handle], server, code, handle)
        expect(students[handle].get_by_role("heading", name="Class work")).to_be_visible()
    for handle, tab in students.items():
        press(tab, "Open")
        expect(tab.get_by_text("You need give no reason")).to_be_visible()
        assert "Doll" not in tab.locator("[data-testid=stMain]").inner_text()
        press(tab, "Begin with photo 1")
        expect(tab.get_by_role("heading", name="Photo 1 of 3")).to_be_visible()
        assert pictures_shown(tab) >= 1
        assert handle not in tab.title()

    # One tab is closed in mid-work; the work is found again in another.
    wren = students["wren"]
    press(wren, "Next: Score")
    say_when_and_where(wren, "At the breast", "Side")
    wren.get_by_role("radiogroup", name=re.compile(r"^2\. ")).get_by_text("Not seen", exact=True).click()
    settle(wren)
    again = wren.context.new_page()
    again.set_default_timeout(30_000)
    wren.close()
    at(again, server, "")
    press(again, "Go on with photo 1")
    second = again.get_by_role("radiogroup", name=re.compile(r"^2\. "))
    expect(second.get_by_role("radio", name="Not seen")).to_be_checked()
    answer_all(again, ["Seen"])
    # Another tab of the same student, opened meanwhile, does not overwrite what the first one saved.
    other = again.context.new_page()
    other.set_default_timeout(30_000)
    other.goto(again.url)
    expect(other.get_by_role("heading", name="Photo 1 of 3")).to_be_visible()
    settle(other)
    for tab, said in ((again, "Can't tell from this photo"), (other, "Not seen")):
        tab.get_by_role("radiogroup", name=re.compile(r"^1\. ")).get_by_text(said, exact=True).click()
        settle(tab)
    expect(other.get_by_text("was not saved")).to_be_visible()
    other.close()
    press(again, "Next: Hand in")
    press(again, "Hand in")
    press(again, "Next photo: 2 of 3")
    students["wren"] = again

    for handle, tab in students.items():
        for number in (1, 2, 3):
            if handle == "wren" and number == 1:
                continue
            score_and_hand_in(tab, ["Seen", "Not seen"])
            expect(tab.get_by_text("You and the key both answered")).to_be_visible()
            if number < 3:
                press(tab, f"Next photo: {number + 1} of 3")
        expect(tab.get_by_text("You are through with this work.")).to_be_visible()
    handed = rows(
        server.data, "select count(*) from attempt where handed_in_at is not null and assignment_id is not null"
    )
    assert handed == [(9,)]
    ((kept,),) = rows(
        server.data,
        "select sheet.answers from sheet join attempt on attempt.id = sheet.attempt_id"
        " join person on person.id = attempt.person_id where person.handle = 'wren' and slot = 1",
    )
    assert '"cant_tell"' in kept

    page.get_by_role("tab", name="Work").click()
    press(page, "Open")
    grid = page.get_by_role("table", name="How far each student is, photo by photo")
    expect(grid.get_by_role("img", name="handed in")).to_have_count(9)
    expect(grid).not_to_contain_text("wren")
    page.get_by_text("Show names").click()
    settle(page)
    expect(grid).to_contain_text("wren")

    # A new password for finch, whose session ends with it.
    press(page, "Back to the class")
    page.get_by_role("tab", name="Students").click()
    page.get_by_role("button", name="New password").first.click()
    press(page, "Make a new password")
    expect(page.locator("output.ll-code-small")).to_be_visible()
    students["finch"].reload()
    expect(students["finch"].get_by_role("heading", name="Please sign in")).to_be_visible()


def prepared(data: Path, *, consented: bool = False, **options: Any) -> tuple[School, str, dict[str, Person]]:
    """A school with wren (Student 1) and robin (Student 2) in the class, and one assignment."""
    with records_of(data) as store:
        school = open_school(store, NAMES, consented=consented)
        joined = {handle: student(store, school, handle) for handle in ("wren", "robin")}
        return school, give(store, school, **options), joined


def test_the_key_waits_for_the_instructor_and_then_opens_for_whoever_handed_in(
    page: Page, people: Callable[[], Page], run_program: Callable[[], Server], tmp_path: Path
) -> None:
    _, work, _ = prepared(tmp_path / "data", key_rule=KeyRule.WHEN_OPENED, order=Order.MEASURE_FIRST)
    server = run_program()
    wren = people()
    sign_in(wren, server.url, "wren")
    at(wren, server, f"my-work?work={work}")
    press(wren, "Begin with photo 1")
    score_and_hand_in(wren, ["Seen"])
    expect(wren.get_by_text("The key is shown when your instructor opens it.")).to_be_visible()
    expect(wren.get_by_text("You and the key both answered")).to_have_count(0)
    feedback = wren.url
    sign_in(page, server.url, "heron")
    at(page, server, f"given?work={work}")
    press(page, "Open the key")
    press(page, "Open the key now")
    expect(page.get_by_text("The key is open since")).to_be_visible()
    wren.goto(feedback)
    expect(wren.get_by_text("You and the key both answered")).to_be_visible()


def test_the_key_is_shown_once_the_due_date_is_over(
    people: Callable[[], Page], run_program: Callable[[], Server], tmp_path: Path
) -> None:
    data = tmp_path / "data"
    tomorrow = datetime.now(UTC) + timedelta(days=1)
    school, work, joined = prepared(data, key_rule=KeyRule.AFTER_DUE, due_at=tomorrow)
    with records_of(data) as store:
        done = works(store, school, joined["wren"], work, 1)
    server = run_program()
    wren = people()
    sign_in(wren, server.url, "wren")
    at(wren, server, f"feedback?attempt={done}")
    expect(wren.get_by_text("The key is shown after")).to_be_visible()
    with records_of(data) as store:
        assignments.change_due(store, school.instructor, work, store.now() + timedelta(seconds=1))
    wren.wait_for_timeout(1500)
    wren.reload()
    expect(wren.get_by_text("You and the key both answered")).to_be_visible()
    at(wren, server, f"my-work?work={work}")
    expect(wren.get_by_text("You may still hand in; it is marked as late.")).to_be_visible()


def test_an_instructor_comments_hands_back_and_is_done_after_the_second_try(
    page: Page, people: Callable[[], Page], run_program: Callable[[], Server], tmp_path: Path
) -> None:
    data = tmp_path / "data"
    school, work, joined = prepared(data, order=Order.MEASURE_FIRST)
    with records_of(data) as store:
        for handle, apart in (("robin", 0), ("wren", 5)):
            works(store, school, joined[handle], work, 1, apart=apart)
    server = run_program()
    sign_in(page, server.url, "heron")
    at(page, server, f"given?work={work}")
    # The most different comes first.
    page.get_by_role("button", name="Read", exact=True).first.click()
    expect(page.get_by_role("heading", name="Student 1, photo 1 of 3")).to_be_visible()
    settle(page)
    assert pictures_shown(page) >= 1
    page.get_by_role("button", name="Comment", exact=True).first.click()
    page.get_by_label("The student sees it at once").last.fill("Ear, shoulder, hip: lay a ruler along.")
    press(page, "Add the comment")
    expect(page.get_by_text("Ear, shoulder, hip: lay a ruler along.")).to_be_visible()
    press(page, "Hand back")
    press(page, "Hand it back")
    expect(page.get_by_text("Handed back for another try")).to_be_visible()

    wren = people()
    sign_in(wren, server.url, "wren")
    expect(wren.get_by_role("button", name="Try photo 1 again")).to_be_visible()
    at(wren, server, f"my-work?work={work}")
    press(wren, "Read")
    expect(wren.get_by_text("Ear, shoulder, hip: lay a ruler along.")).to_be_visible()
    press(wren, "Try this photo again")
    expect(wren.get_by_text("Try 2: the earlier one is kept.")).to_be_visible()
    score_and_hand_in(wren, ["Seen"])
    tries = rows(server.data, "select try_number from attempt where slot = 1 and handed_in_at is not null order by 1")
    assert tries == [(1,), (1,), (2,)]

    at(page, server, f"given?work={work}")
    expect(page.get_by_text("Student 1, photo 1, try 2")).to_be_visible()
    page.get_by_role("button", name="Read", exact=True).first.click()
    settle(page)
    press(page, "Done, and on to the next")
    expect(page.get_by_role("heading", name="Student 2, photo 1 of 3")).to_be_visible()
    settle(page)
    press(page, "Done, and on to the next")
    expect(page.get_by_text("2 handed in, 2 of them done.")).to_be_visible()


def test_a_withdrawn_consent_takes_the_photo_from_every_page_and_from_the_disk_and_leaves_the_scores(
    page: Page, people: Callable[[], Page], run_program: Callable[[], Server], tmp_path: Path
) -> None:
    data = tmp_path / "data"
    school, work, joined = prepared(data, consented=True)
    photo = school.photos[-1]
    with records_of(data) as store:
        done = works(store, school, joined["wren"], work, 4)
        class_work.start_slot(store, joined["robin"], work, 4)
    ((name, sha256),) = rows(data, f"select file_name, sha256 from photo where id = '{photo.id}'")
    jpeg = (data / "photos" / name).read_bytes()
    assert hashlib.sha256(jpeg).hexdigest() == sha256
    server = run_program()
    wren, robin = people(), people()
    sign_in(wren, server.url, "wren")
    sign_in(robin, server.url, "robin")
    address = f"{server.url}/photos/{photo.id}/screen.jpg"
    for tab in (wren, robin):
        assert tab.request.get(address).status == 200
    at(wren, server, f"feedback?attempt={done}")
    expect(wren.get_by_text("You and the key both answered 2 signs")).to_be_visible()
    assert pictures_shown(wren) >= 1
    # Another student gets nothing of it, by its addresses neither.
    assert robin.request.get(f"{server.url}/overlays/{done}/overlay.jpg").status == 404
    for path in (f"feedback?attempt={done}", f"submission?attempt={done}", f"practise?attempt={done}"):
        at(robin, server, path)
        expect(robin.get_by_role("alert")).to_be_visible()
        assert "you: " not in robin.content()
    ((refused,),) = rows(data, f"select count(*) from audit_entry where outcome = 'refused' and object_id = '{done}'")
    assert refused >= 4

    sign_in(page, server.url, "heron")
    card(page, photo.title).get_by_role("button", name="Remove").click()
    press(page, "The consent was withdrawn")
    expect(page.get_by_text(photo.title, exact=True)).to_have_count(0)

    for tab in (wren, robin, page):
        for path in (
            f"photos/{photo.id}/screen.jpg",
            f"photos/{photo.id}/thumbnail.jpg",
            f"overlays/{done}/overlay.jpg",
        ):
            assert tab.request.get(f"{server.url}/{path}").status == 404, path
    seen = {
        wren: ["", "my-work", f"my-work?work={work}", f"feedback?attempt={done}", "progress", "practise"],
        robin: ["", "my-work", f"my-work?work={work}", "practise"],
        page: ["", f"class?id={school.class_id}", f"given?work={work}", f"submission?attempt={done}", "sets"],
    }
    for tab, paths in seen.items():
        for path in paths:
            at(tab, server, path)
            assert photo.id not in tab.content(), path
            assert photo.title not in tab.locator("[data-testid=stMain]").inner_text(), path
    at(wren, server, f"feedback?attempt={done}")
    expect(wren.get_by_text("Your scores stay, without the picture.")).to_be_visible()
    answers = wren.get_by_role("table", name="Your answers")
    expect(answers.get_by_role("cell", name="Seen", exact=True)).to_be_visible()
    at(robin, server, f"my-work?work={work}")
    expect(robin.get_by_text("photo no longer here")).to_be_visible()
    at(page, server, f"submission?attempt={done}")
    expect(page.get_by_role("table", name="Answers", exact=True)).to_be_visible()
    assert rows(data, f"select count(*) from sheet where attempt_id = '{done}'") == [(2,)]

    held = {file: file.read_bytes() for file in data.rglob("*") if file.is_file()}
    traces = (jpeg[1000:1200], jpeg[-200:], sha256.encode(), bytes.fromhex(sha256), name.encode())
    assert len(jpeg) > 1400
    assert [
        (file.name, number) for file, all_of_it in held.items() for number, t in enumerate(traces) if t in all_of_it
    ] == []
