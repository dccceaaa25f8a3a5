"""One's own way over time: only beside keys that may be seen, and what to practise next on photos that may be used."""

import csv
from collections.abc import Iterator
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
from records_scene import Clock, Scene, someone_else
from review_scene import ITEMS, Handed, do, simulated_class
from set_scene import data_folder, page, press, said

from records.attempt.attempts import open_attempts, save_sheet, start_attempt
from records.attempt.handing_in import hand_in
from records.classroom import assignments
from records.classroom.class_values import KeyRule
from records.errors import NotFound
from records.identity.people import Person, Role
from records.key.expert_keys import set_expert_key
from records.key.panel_keys import parted_signs
from records.photo.photos import list_photos
from records.photo.practice_photos import photos_by_sign
from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, ReferenceKey
from rubric.reports import report_csv
from rubric.review.table import SEEN
from screens import data
from screens.progress.own_work import own_attempts, own_entries, own_plan, own_review
from screens.progress.shares import shares_of
from screens.review.report_routes import report_on_own_work
from vision.landmarks import LandmarkSet


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    with data_folder():
        yield


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(store=data.store(), person=data.me(), clock=Clock(data.store().now()), folder=tmp_path / "data")


def practised(person: Person, title: str, said_to_all: Answer = Answer.SEEN) -> str:
    """A shipped photo handed in alone, with one answer to every sign."""
    store = data.store()
    photo = next(one for one in list_photos(store, person) if one.title == title)
    attempt = start_attempt(store, person, photo.id)
    answers = {item.id: ItemAnswer(answer=said_to_all) for item in data.checklist().items if item.visible}
    save_sheet(store, person, attempt.id, 1, AnswerSheet(answers=answers), 0)
    hand_in(store, person, attempt.id, measures_json={}, measure_version="7", checklist_version="3")
    return photo.id


def first_title() -> str:
    return next(one.title for one in list_photos(data.store(), data.me()) if one.sample_id)


def waiting(scene: Scene, **options: object) -> tuple[Handed, Person]:
    """A student's class work, handed in, whose key waits for the instructor."""
    handed = simulated_class(scene, n_students=1, n_photos=2, key_rule=KeyRule.WHEN_OPENED, **options)
    for slot in (1, 2):
        do(handed, 0, slot, np.full(len(ITEMS), SEEN, np.int8))
    return handed, handed.made.students[0]


def test_a_key_that_waits_gives_no_figure_and_opens_with_the_class(scene: Scene) -> None:
    handed, student = waiting(scene)
    entries = own_entries(scene.store, student)
    assert [one.key for one in entries] == [None, None]
    assert own_attempts(entries, data.checklist()) == ()
    assert own_review(entries, data.checklist()) is None
    assert {shares_of(one, data.checklist()).last_percent for one in entries} == {None}
    with pytest.raises(NotFound):
        report_on_own_work(student)
    assignments.open_key(scene.store, handed.made.instructor, handed.made.work.id)
    opened = own_review(own_entries(scene.store, student), data.checklist())
    assert opened is not None
    table = opened[0].table
    np.testing.assert_array_equal(table.key.answers, handed.key.answers)
    assert (table.answers == SEEN).all()


def test_class_work_that_is_open_is_not_offered_for_practice_alone(scene: Scene) -> None:
    handed, student = waiting(scene)
    mine = {photo.id for photo in handed.made.photos}
    boss = handed.made.instructor
    offered = {photo for photos in photos_by_sign(scene.store, boss).values() for photo in photos}
    assert mine <= offered  # who owns them and runs the class may
    assert not mine & {photo for photos in photos_by_sign(scene.store, student).values() for photo in photos}


def test_only_signs_are_told_of_a_key_and_only_of_photos_within_reach(scene: Scene) -> None:
    other = someone_else(scene.store, Role.STUDENT)
    handed = simulated_class(scene, n_students=0, n_photos=1)
    by_sign = photos_by_sign(scene.store, other)
    assert handed.made.photos[0].id not in {photo for photos in by_sign.values() for photo in photos}
    shipped = {one.id for one in list_photos(scene.store, other)}
    assert all(set(photos) <= shipped for photos in by_sign.values())
    assert all(isinstance(photo, str) and len(photo) == 32 for photos in by_sign.values() for photo in photos)


def test_a_sign_on_which_the_experts_part_grades_nobody_here_either(scene: Scene) -> None:
    handed, student = waiting(scene)
    assignments.open_key(scene.store, handed.made.instructor, handed.made.work.id)
    before = own_attempts(own_entries(scene.store, student), data.checklist())
    photo = handed.made.photos[0]
    for answer in (Answer.SEEN, Answer.NOT_SEEN):
        expert = someone_else(scene.store, Role.INSTRUCTOR)
        key = ReferenceKey(
            phase=handed_key(scene, student).phase,
            view=handed_key(scene, student).view,
            answers={"close": KeyAnswer(answer=answer, why="seen with my own eyes")},
        )
        set_expert_key(scene.store, expert, photo.id, key, LandmarkSet(), expected_revision=0)
    assert dict(parted_signs(scene.store, student)) == {photo.id: frozenset({"close"})}
    after = own_attempts(own_entries(scene.store, student), data.checklist())
    gone = set(before) - set(after)
    assert {(one.photo, one.item) for one in gone} == {(photo.id, "close")}
    found = own_review(own_entries(scene.store, student), data.checklist())
    assert found is not None
    assert found[0].n_disputed == 1
    assert parted_signs(scene.store, someone_else(scene.store, Role.STUDENT)) == {}


def handed_key(scene: Scene, student: Person) -> ReferenceKey:
    key = own_entries(scene.store, student)[0].key
    assert key is not None
    return key.key


def test_a_weak_sign_comes_first_on_a_photo_not_yet_seen() -> None:
    photo_id = practised(data.me(), first_title(), Answer.NOT_SEEN)
    entries = own_entries(data.store(), data.me())
    plan = own_plan(data.store(), data.me(), entries, data.checklist())
    weak = {one.item for one in own_attempts(entries, data.checklist()) if one.outcome == "differs"}
    again = [one for one in plan if one.due is not None]
    assert {one.item for one in again} >= weak
    assert all(photo_id not in one.photos[:1] for one in again if len(one.photos) > 1)


def test_the_page_of_a_beginner_offers_a_first_photo() -> None:
    test = page("progress")
    assert "Nothing is handed in yet" in said(test)
    [begin] = [one for one in test.button if one.label.startswith("Practise on ")]
    begin.click().run()
    assert not test.exception
    [attempt] = open_attempts(data.store(), data.me())
    assert begin.label.endswith(
        str(next(p.title for p in list_photos(data.store(), data.me()) if p.id == attempt.photo_id))
    )


def test_the_page_shows_day_by_day_and_the_report_holds_the_same_numbers() -> None:
    practised(data.me(), first_title())
    entries = own_entries(data.store(), data.me())
    percent = shares_of(entries[0], data.checklist()).last_percent
    assert percent is not None
    test = page("progress")
    words = said(test)
    assert "Day by day" in words
    assert f"<td>{percent:.0f} %</td>" in words
    assert "/reports/mine/report.pdf" in words
    report = report_on_own_work(data.me())
    rows = list(csv.reader(StringIO(report_csv(report).decode("utf-8-sig"))))
    [agrees] = [row for row in rows if row[:1] == ["agrees with the key"]]
    assert round(float(agrees[1])) == round(percent)
    assert "What to practise next" in {cell for row in rows for cell in row}


def test_going_on_with_a_photo_that_is_under_way_begins_no_second_one() -> None:
    test = page("progress")
    [label] = [one.label for one in test.button if one.label.startswith("Practise on ")]
    press(test, label)
    press(page("progress"), label)
    assert len(open_attempts(data.store(), data.me())) == 1
