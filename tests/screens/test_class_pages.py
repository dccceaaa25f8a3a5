"""The pages of class work without a browser: what a student is told, the way out, the preview, and the instructor's list."""

import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from secrets import token_hex

import pytest
from set_scene import data_folder, page
from streamlit.testing.v1 import AppTest

from records.attempt.attempts import Order, open_attempts, save_points
from records.attempt.handing_in import history
from records.attempt.own_sigma import own_sigma_for
from records.auditing.audit import check_chain
from records.classroom import assignments, class_work, classes, reviews
from records.classroom.class_values import KeyRule, SlotState
from records.classroom.membership import add_member
from records.identity.people import Person, Role, add_person
from records.models import ClassRow
from rubric.checklist import shipped_checklist
from screens import data
from screens.review.reading_order import Sorted, readings
from tests.journeys.school import School, give, publish, samples, works
from vision.landmarks import LandmarkSet, Point

NAMES = ("cradle_side", "medium_side", "narrow_side")


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path))
    with data_folder():
        yield


def said(test: AppTest) -> str:
    kinds = ("title", "header", "subheader", "markdown", "error", "warning", "info", "success")
    parts = [str(element.value) for kind in kinds for element in test.get(kind)]
    return "\n".join([*parts, *(html.proto.body for html in test.get("html"))])


def press(test: AppTest, label: str) -> AppTest:
    button = next(one for one in test.button if one.label == label)
    button.click().run()
    assert not test.exception
    return test


def a_person(*roles: Role) -> Person:
    with data.store().writing() as session:
        return add_person(data.store(), session, f"other {token_hex(4)}", frozenset(roles))


def a_school(instructor: Person, *students: Person) -> School:
    """A class run by one, with these students and a published set of three shipped photos."""
    store = data.store()
    photos = samples(store, instructor, NAMES)
    until = store.today() + timedelta(days=99)
    group = classes.new_class(store, instructor, title="Linden Room", keep_until=until)
    with store.writing() as session:
        for number, one in enumerate(students):
            add_member(session, group.id, one.id, "student", at=store.now() + timedelta(seconds=number))
    version_id = publish(store, a_person(*Role), photos)
    return School(instructor=instructor, class_id=group.id, version_id=version_id, photos=tuple(photos), code="")


def as_student(**options: object) -> tuple[School, str]:
    """The person at this computer is a student of somebody's class."""
    school = a_school(a_person(Role.INSTRUCTOR), data.me())
    return school, give(data.store(), school, **options)


def as_instructor(n_students: int = 2, **options: object) -> tuple[School, str, list[Person]]:
    """The person at this computer runs a class."""
    students = [a_person(Role.STUDENT) for _ in range(n_students)]
    school = a_school(data.me(), *students)
    return school, give(data.store(), school, **options), students


def test_class_work_comes_first_on_the_start_page_and_begins_with_a_notice_and_a_way_out() -> None:
    _, work = as_student()
    start = page("start")
    assert next(one.value for one in start.header) == "Class work"
    opened = page("my-work", work=work)
    words = said(opened)
    assert "You need give no reason" in words
    assert "Leave this work out" in [one.label for one in opened.button]
    assert "Doll" not in words
    begun = press(opened, "Begin with photo 1")
    assert "Photo 1 of 3" in said(begun)
    assert "Doll" not in said(begun)


def test_all_of_the_work_can_be_left_out_and_taken_in_again() -> None:
    _, work = as_student()
    left = press(page("my-work", work=work), "Leave this work out")
    assert "You left this work out" in said(left)
    assert "Class work" not in [one.value for one in page("start").header]
    again = press(left, "Take it in again")
    assert "Begin with photo 1" in [one.label for one in again.button]


def test_one_photo_can_be_left_out_from_within_it() -> None:
    _, work = as_student()
    begun = class_work.start_slot(data.store(), data.me(), work, 1)
    overview = press(page("practise", attempt=begun.id), "Leave it out")
    assert "– left out" in said(overview)
    assert "Begin" in [one.label for one in overview.button]
    mine = assignments.my_assignment(data.store(), data.me(), work)
    assert mine.slots[0].state == SlotState.LEFT_OUT


def test_points_twice_is_a_step_of_its_own_and_is_skipped_where_nothing_was_placed() -> None:
    _, work = as_student(places_twice=True, order=Order.MEASURE_FIRST)
    begun = class_work.start_slot(data.store(), data.me(), work, 1)
    test = page("practise", attempt=begun.id)
    assert "3. Score" in said(test)
    press(test, "Next: Points again")
    assert "You placed no point" in said(test)
    press(test, "Next: Score")
    assert test.radio


def test_the_second_placing_gives_the_own_spread_and_goes_on_to_scoring() -> None:
    _, work = as_student(places_twice=True, order=Order.MEASURE_FIRST)
    store, me = data.store(), data.me()
    begun = class_work.start_slot(store, me, work, 1)
    places = {"nose_tip": (100, 100), "ear": (300, 100), "chin": (120, 250), "hip": (700, 330)}
    first = LandmarkSet(points={name: Point(x=x, y=y) for name, (x, y) in places.items()})
    save_points(store, me, begun.id, 1, first, 0)
    moved = LandmarkSet(points={name: Point(x=x + 4, y=y - 4) for name, (x, y) in places.items()})
    save_points(store, me, begun.id, 2, moved, 0)
    test = press(page("practise", attempt=begun.id), "Next: Points again")
    assert "Your first ones are hidden" in said(test)
    assert "Finish the blind round" not in [one.label for one in test.button]
    press(test, "Next: Score")
    assert test.radio
    assert "Your own spread over 4 points placed twice" in said(test)
    spread = own_sigma_for(store, me)
    assert spread is not None
    assert spread.n_points == 4


def test_the_repeat_is_told_once_all_is_through_and_not_before() -> None:
    school, work = as_student(hidden_repeat=True)
    for slot in (1, 2, 3, 4):
        assert "once more" not in said(page("my-work", work=work))
        works(data.store(), school, data.me(), work, slot)
    words = said(page("my-work", work=work))
    assert re.search(r"photo \d once more", words)
    assert "Leave the rest" not in words


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"key_rule": KeyRule.WHEN_OPENED}, "The key is shown when your instructor opens it."),
        ({"key_rule": KeyRule.AFTER_DUE}, "The key is shown after "),
    ],
)
def test_before_the_key_is_shown_the_feedback_says_when_and_shows_the_own_work(
    options: dict[str, object], told: str
) -> None:
    due = data.store().now() + timedelta(days=2)
    school, work = as_student(**options, due_at=due)
    done = works(data.store(), school, data.me(), work, 1)
    reviews.add_comment(data.store(), school.instructor, done, "Where does the lip end?", item_id="lips_out")
    lines = check_chain(data.store()).n_entries
    test = page("feedback", attempt=done)
    words = said(test)
    assert told in words
    assert "You and the key" not in words
    assert "on “The lips curl outwards" in words
    assert "Where does the lip end?" in words
    assert "Your answers" in words
    assert "Next photo: 2 of 3" in [one.label for one in test.button]
    assert "Week 2, photo 1 of 3" in said(page("progress"))
    # Looking at one's own page is no attempt at what is hidden.
    assert check_chain(data.store()).n_entries == lines


def test_after_each_shows_the_key_and_the_way_to_the_next_photo() -> None:
    school, work = as_student()
    done = works(data.store(), school, data.me(), work, 1, apart=2)
    reviews.add_comment(data.store(), school.instructor, done, "Look at the *hip* <b>again</b>.", landmark_id="hip")
    test = page("feedback", attempt=done)
    words = said(test)
    assert "You and the key both answered" in words
    assert "Differs from the key" in words
    assert "Look at the *hip* &lt;b&gt;again&lt;/b&gt;." in words
    press(test, "Next photo: 2 of 3")
    assert "Photo 2 of 3" in said(test)


def test_a_preview_shows_the_steps_and_saves_nothing() -> None:
    _, work, _ = as_instructor()
    overview = page("my-work", work=work, preview="1")
    assert "This is what a student sees" in said(overview)
    assert "Photo 1 of 3" in said(press(overview, "Begin with photo 1"))
    looked = page("practise", preview=work, slot="1")
    for label, option in (("When", "At the breast"), ("From", "Side")):
        radio = next(one for one in looked.radio if one.label.startswith(label))
        radio.set_value(next(words for words in radio.options if words.startswith(option))).run()
        assert not looked.exception
    first = next(one for one in looked.radio if one.label.startswith("1. "))
    first.set_value(first.options[0]).run()
    for step in ("Next: Points and measures", "Next: Score again", "Next: Hand in"):
        press(looked, step)
    assert "a preview hands nothing in" in said(looked)
    assert "Hand in" not in [one.label for one in looked.button]
    assert open_attempts(data.store(), data.me()) == ()
    assert history(data.store(), data.me()) == ()


def test_a_student_cannot_open_the_pages_of_whoever_runs_the_class() -> None:
    school, work = as_student()
    other = a_person(Role.STUDENT)
    with data.store().writing() as session:
        add_member(session, school.class_id, other.id, "student", at=data.store().now())
    done = works(data.store(), school, other, work, 1)
    for name, query in (
        ("class", {"id": school.class_id}),
        ("given", {"work": work}),
        ("submission", {"attempt": done}),
        ("feedback", {"attempt": done}),
    ):
        test = page(name, **query)
        assert len(test.error) == 1, name
        assert "someone else" in test.error[0].value


def test_the_instructor_s_page_shows_labels_and_counts_what_was_left_out() -> None:
    school, work, (first, second) = as_instructor()
    works(data.store(), school, first, work, 1)
    class_work.leave_out(data.store(), second, work, 2)
    test = page("given", work=work)
    words = said(test)
    assert "Student 1" in words
    assert first.handle not in words
    assert "Left out, photo 2: 1." in words
    assert 'aria-label="left out"' not in words
    test.toggle[0].set_value(True).run()
    assert first.handle in said(test)
    assert first.handle in said(press(test, "Read"))


def test_a_class_whose_last_day_is_over_says_that_its_work_goes_and_how_to_keep_it() -> None:
    school = a_school(data.me())
    assert "erased in some days" not in said(page("class", id=school.class_id))
    with data.store().writing() as session:
        session.get_one(ClassRow, school.class_id).keep_until = data.store().today() - timedelta(days=1)
    test = page("class", id=school.class_id)
    assert "erased in some days" in said(test)
    test.date_input[0].set_value(data.store().today() + timedelta(days=9))
    press(test, "Save")
    assert "erased in some days" not in said(page("class", id=school.class_id))


def test_the_instructor_s_page_offers_the_sheets_of_the_set_that_was_given() -> None:
    school, work, _ = as_instructor()
    words = said(page("given", work=work))
    for kind in ("blank", "key"):
        assert f'href="/set-worksheets/{school.version_id}/{kind}.pdf"' in words


def test_reading_begins_where_answers_and_key_are_furthest_apart_and_done_comes_last() -> None:
    school, work, (first, second) = as_instructor()
    store = data.store()
    near, far = works(store, school, first, work, 1, apart=1), works(store, school, second, work, 1, apart=6)
    other = works(store, school, first, work, 2, apart=4)

    def order(by: Sorted) -> list[str]:
        answers = class_work.answers_of(store, data.me(), work)
        return [one.submission.attempt_id for one in readings(answers, shipped_checklist(), by)]

    assert order(Sorted.MOST_DIFFERENT) == [far, other, near]
    reviews.set_state(store, data.me(), far, reviews.ReviewState.DONE, expected_revision=0)
    assert order(Sorted.MOST_DIFFERENT) == [other, near, far]
    reviews.set_state(store, data.me(), near, reviews.ReviewState.LOOKED_AT, expected_revision=0)
    assert order(Sorted.NOT_LOOKED_AT) == [other, near, far]
    answers = class_work.answers_of(store, data.me(), work)
    [top, _] = readings(answers, shipped_checklist(), Sorted.MOST_DIFFERENT, slot=1)
    assert (top.submission.attempt_id, top.n_apart) == (near, 1)


def test_opening_a_piece_of_work_marks_it_as_looked_at() -> None:
    school, work, (first, _) = as_instructor()
    done = works(data.store(), school, first, work, 1, apart=3)
    test = page("submission", attempt=done)
    words = said(test)
    assert "Student 1, photo 1 of 3" in words
    assert "student: " in words
    assert "You said" not in words
    assert reviews.work_to_review(data.store(), data.me(), done).review.state == reviews.ReviewState.LOOKED_AT


def test_key_and_closing_are_worked_from_the_page() -> None:
    _, work, _ = as_instructor(key_rule=KeyRule.WHEN_OPENED)
    test = press(page("given", work=work), "Open the key now")
    assert "The key is open since" in said(test)
    press(test, "Close this work")
    assert "Closed on" in said(test)
    press(test, "Open the work again")
    assert assignments.progress_of(data.store(), data.me(), work).assignment.closed_at is None
