"""From what a class handed in to arrays: what was handed in is what is reviewed, and nothing else."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from records_scene import Scene, make_scene, someone_else
from review_scene import Handed, all_handed_in, do, simulated_class

from records.classroom import class_work, reviews
from records.consent.withdrawal import remove_photo
from records.errors import NotAllowed
from records.identity.people import Role
from records.key.expert_keys import set_expert_key
from rubric.answers import Answer, KeyAnswer, ReferenceKey
from rubric.checklist import shipped_checklist
from rubric.review.table import BLANK, CANT_TELL, NOT_SEEN, SEEN
from screens.review.work import ReviewedWork, reviewed, without_names
from vision.landmarks import LandmarkSet

CHECKLIST = shipped_checklist()


@pytest.fixture
def scene(tmp_path: Path) -> Iterator[Scene]:
    made = make_scene(tmp_path / "data")
    yield made
    made.store.close()


def review_of(handed: Handed) -> ReviewedWork:
    made = handed.made
    return reviewed(made.scene.store, made.instructor, made.work.id, CHECKLIST)


def test_the_arrays_are_what_was_handed_in_blanks_and_all(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene))
    table = review_of(handed).review.table
    assert (handed.first.answers == BLANK).any()
    assert table.key.photos == ("1", "2", "3", "4")
    assert table.key.items == handed.key.items
    assert table.students == handed.first.students
    np.testing.assert_array_equal(table.key.answers, handed.key.answers)
    np.testing.assert_array_equal(table.key.accepted, handed.key.accepted)
    np.testing.assert_array_equal(table.answers, handed.second.answers)


def test_the_change_of_mind_is_that_between_both_looks(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene, n_students=8, n_photos=6))
    change = review_of(handed).review.change
    assert change is not None
    changed = handed.first.compared & (handed.first.answers != handed.second.answers)
    both_the_keys = ~handed.first.differs & ~handed.second.differs  # from the key's answer to an accepted one
    expected = int((changed & ~both_the_keys).sum())
    assert expected > 0
    assert int((change.towards + change.away + change.other).sum()) == expected


def test_what_was_not_handed_in_or_left_out_is_blank_and_counts_for_nobody(scene: Scene) -> None:
    handed = simulated_class(scene, n_students=3, n_photos=2)
    do(handed, 0, 1, handed.first.answers[0, 0])
    class_work.leave_out(scene.store, handed.made.students[1], handed.made.work.id, 1)
    work = review_of(handed)
    answers = work.review.table.answers
    np.testing.assert_array_equal(answers[0, 0], handed.first.answers[0, 0])
    assert (answers[1:] == BLANK).all()
    assert (answers[0, 1] == BLANK).all()
    assert work.review.change is None  # both looks say the same everywhere
    assert work.review.points == ()


def test_a_second_try_replaces_the_first(scene: Scene) -> None:
    handed = simulated_class(scene, n_students=2, n_photos=1)
    store, boss = scene.store, handed.made.instructor
    seen, not_seen = np.full(5, SEEN, np.int8), np.full(5, NOT_SEEN, np.int8)
    attempt = do(handed, 0, 1, seen)
    reviews.add_comment(store, boss, attempt, "look once more at the lips", item_id="lips_out")
    state = reviews.work_to_review(store, boss, attempt).review
    reviews.hand_back(store, boss, attempt, expected_revision=state.revision)
    assert (review_of(handed).review.table.answers[0, 0] == SEEN).all()
    do(handed, 0, 1, not_seen)
    assert (review_of(handed).review.table.answers[0, 0] == NOT_SEEN).all()


def test_the_hidden_repeat_is_no_photo_of_its_own(scene: Scene) -> None:
    handed = simulated_class(scene, n_students=2, n_photos=3, hidden_repeat=True)
    assert handed.made.work.n_slots == 4
    for slot in range(1, 5):
        do(handed, 0, slot, np.full(5, SEEN, np.int8))
    work = review_of(handed)
    again = [slot.slot for slot in work.answers.slots if slot.repeats is not None]
    assert len(again) == 1
    assert str(again[0]) not in work.slots
    assert len(work.review.table.key.photos) == 3


def test_a_removed_photo_keeps_its_answers_and_loses_picture_and_points(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene))
    before = review_of(handed)
    assert {one.photo for one in before.review.ellipses} == {"1", "2", "3", "4"}
    remove_photo(scene.store, handed.made.instructor, handed.made.photos[1].id)
    work = review_of(handed)
    assert (work.slots["2"].photo_id, work.slots["2"].title) == (None, None)
    assert work.photo_name("2") == "Photo 2, no longer here"
    np.testing.assert_array_equal(work.review.table.answers, handed.second.answers)
    assert {one.photo for one in work.review.ellipses} == {"1", "3", "4"}
    assert np.isnan(work.angles[1].key[1])


def test_points_and_angles_are_the_students_own_beside_the_keys(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene))
    work = review_of(handed)
    [ear] = [one for one in work.review.ellipses if one.photo == "1" and one.landmark == "ear"]
    # students lie 0 to 5 pixels to the right of the key and half a pixel below it
    assert (ear.x, ear.y, ear.key_x, ear.key_y) == (12.5, 10.5, 10.0, 10.0)
    line = next(table for table in work.angles if table.name == "alignment_angle")
    np.testing.assert_allclose(line.key, 135.0)
    np.testing.assert_allclose(line.difference, 0.0, atol=1e-9)  # moved, not turned


def reading(handed: Handed, at: int, **changed: Answer) -> ReferenceKey:
    """A photo's key with these answers changed."""
    frozen = handed.made.scene
    key = class_work.answers_of(frozen.store, handed.made.instructor, handed.made.work.id).slots[at].key
    assert key is not None
    answers = {**key.answers, **{item: KeyAnswer(answer=answer, why="my own eyes") for item, answer in changed.items()}}
    return ReferenceKey(phase=key.phase, view=key.view, answers=answers)


def test_where_experts_part_nobody_is_compared_with_the_key_and_the_page_is_told(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene))
    key = int(handed.key.answers[0, 3])
    other = Answer.NOT_SEEN if key != NOT_SEEN else Answer.SEEN
    for changed in ({}, {"lips_out": other}):
        expert = someone_else(scene.store, Role.INSTRUCTOR)
        photo_id = handed.made.photos[0].id
        set_expert_key(scene.store, expert, photo_id, reading(handed, 0, **changed), LandmarkSet(), expected_revision=0)
    work = review_of(handed)
    disputed = work.review.table.key.disputed
    assert disputed.sum() == work.review.n_disputed == 1
    assert disputed[0, 3]
    assert not work.review.table.compared[:, 0, 3].any()
    assert work.review.table.compared[:, 1:, 3].any()
    assert work.panel is not None
    assert [(one.photo, one.item) for one in work.panel.items if not one.agreed] == [("1", "lips_out")]
    assert work.panel.experts == ("expert 1", "expert 2")


def test_one_reading_alone_disputes_nothing(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene, n_students=2, n_photos=1))
    expert = someone_else(scene.store, Role.INSTRUCTOR)
    other = Answer.NOT_SEEN if handed.key.answers[0, 0] != NOT_SEEN else Answer.SEEN
    set_expert_key(
        scene.store, expert, handed.made.photos[0].id, reading(handed, 0, body_line=other), LandmarkSet(),
        expected_revision=0,
    )  # fmt: skip
    work = review_of(handed)
    assert work.panel is None
    assert work.review.n_disputed == 0


def test_names_come_only_where_they_are_asked_for_and_can_be_taken_out_again(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene, n_students=2, n_photos=1))
    made = handed.made
    handle = made.students[0].handle
    assert review_of(handed).student_name("Student 1") == "Student 1"
    named = reviewed(scene.store, made.instructor, made.work.id, CHECKLIST, with_names=True)
    assert named.student_name("Student 1") == handle
    assert handle not in repr(without_names(named).answers.students)


@pytest.mark.parametrize("role", [Role.STUDENT, Role.EDUCATOR, Role.INSTRUCTOR])
def test_nobody_but_the_classes_own_instructor_reviews_it(scene: Scene, role: Role) -> None:
    handed = simulated_class(scene, n_students=1, n_photos=1)
    for person in (someone_else(scene.store, role), handed.made.students[0]):
        with pytest.raises(NotAllowed):
            reviewed(scene.store, person, handed.made.work.id, CHECKLIST)


def test_over_claiming_is_counted_where_the_key_cannot_tell(scene: Scene) -> None:
    handed = all_handed_in(simulated_class(scene, n_students=8, n_photos=6))
    cannot = (handed.key.answers == CANT_TELL) & (handed.second.answers != BLANK)
    claimed = cannot & (handed.second.answers != CANT_TELL)
    rate = review_of(handed).review.over_claiming
    assert rate.n == cannot.sum() > 0
    assert rate.value == pytest.approx(claimed.sum() / cannot.sum())
