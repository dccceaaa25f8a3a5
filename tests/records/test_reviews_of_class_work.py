"""What an instructor says to work that was handed in, and what the student sees of it."""

from collections.abc import Callable

import pytest
from class_scene import a_class
from records_scene import KEY, MEASURES, POINTS, SECOND_SHEET, SHEET, Scene, add, half_done, is_one_sentence

from records.attempt.attempts import Order
from records.attempt.handing_in import hand_in, handed_in
from records.auditing.audit import Outcome, last_entries
from records.classroom import assignments, class_work, classes, reviews
from records.classroom.reviews import ReviewState
from records.errors import InvalidRecord, NotAllowed, NotFound, StaleWrite
from records.key.keys import key_for


def test_a_try_is_read_with_its_key_and_its_review(scene: Scene) -> None:
    made = a_class(scene)
    done = made.do(made.students[0], 2)
    read = reviews.work_to_review(scene.store, made.instructor, done.attempt_id)
    assert read.work == done
    assert read.key is not None
    assert read.key.key == KEY
    assert (read.review.state, read.review.revision) == (None, 0)


def test_looked_at_and_done_follow_each_other_and_two_windows_do_not_overwrite(scene: Scene) -> None:
    made = a_class(scene)
    done, store = made.do(made.students[0], 1), scene.store
    first = reviews.set_state(store, made.instructor, done.attempt_id, ReviewState.LOOKED_AT, expected_revision=0)
    assert (first.state, first.revision, first.changed_at) == (ReviewState.LOOKED_AT, 1, scene.clock())
    with pytest.raises(StaleWrite) as stale:
        reviews.set_state(store, made.instructor, done.attempt_id, ReviewState.DONE, expected_revision=0)
    assert is_one_sentence(stale.value)
    reviews.set_state(store, made.instructor, done.attempt_id, ReviewState.DONE, expected_revision=1)
    [one] = class_work.answers_of(store, made.instructor, made.work.id).submissions
    assert one.review == "done"


def test_comments_are_pinned_to_a_sign_or_a_point_and_reach_the_student_only(scene: Scene) -> None:
    made = a_class(scene)
    done, store = made.do(made.students[0], 1), scene.store
    for text, pin in (
        ("Look at the lower lip again.", {"item_id": "lips_out"}),
        ("This is the lobe; the point lies before it.", {"landmark_id": "ear"}),
        ("Thank you\nfor the careful marks.", {}),
    ):
        reviews.add_comment(store, made.instructor, done.attempt_id, text, **pin)
        scene.clock.turn(seconds=1)
    seen = reviews.comments_on(store, made.students[0], done.attempt_id)
    assert [(one.item_id, one.landmark_id) for one in seen] == [("lips_out", None), (None, "ear"), (None, None)]
    assert {one.mine for one in seen} == {False}
    assert made.mine(made.students[0]).slots[0].n_comments == 3
    with pytest.raises(NotAllowed):
        reviews.comments_on(store, made.students[1], done.attempt_id)
    reviews.remove_comment(store, made.instructor, seen[0].id)
    assert len(reviews.comments_on(store, made.instructor, done.attempt_id)) == 2


@pytest.mark.parametrize(
    ("text", "pin"),
    [
        ("", {}),
        ("x" * 2001, {}),
        ("bell \x07", {}),
        ("two pins", {"item_id": "lips_out", "landmark_id": "ear"}),
        ("no such point", {"landmark_id": "elbow"}),
        ("no such sign", {"item_id": "not an id"}),
    ],
)
def test_a_comment_that_breaks_a_rule_is_not_kept(scene: Scene, text: str, pin: dict[str, str]) -> None:
    made = a_class(scene)
    done = made.do(made.students[0], 1)
    with pytest.raises(InvalidRecord) as refused:
        reviews.add_comment(scene.store, made.instructor, done.attempt_id, text, **pin)
    assert is_one_sentence(refused.value)
    assert reviews.comments_on(scene.store, made.students[0], done.attempt_id) == ()


def test_only_handed_in_class_work_is_read(scene: Scene) -> None:
    made = a_class(scene)
    still_open = made.start(made.students[0], 1)
    with pytest.raises(NotAllowed, match="not been handed in"):
        reviews.work_to_review(scene.store, made.instructor, still_open.id)
    own = add(scene.store, made.students[1], shade=200)
    alone = half_done(scene.store, made.students[1], own)
    hand_in(scene.store, made.students[1], alone.id, measures_json=MEASURES, measure_version="7")
    with pytest.raises(NotAllowed, match="practised alone"):
        reviews.work_to_review(scene.store, made.instructor, alone.id)
    with pytest.raises(NotFound):
        reviews.work_to_review(scene.store, made.instructor, "0" * 32)


def test_students_reach_nothing_of_another_s_work_and_each_try_is_logged(scene: Scene) -> None:
    made = a_class(scene)
    done, student = made.do(made.students[0], 1), made.students[1]
    calls: dict[str, tuple[Callable[[], object], str]] = {
        "work_to_review": (lambda: reviews.work_to_review(scene.store, student, done.attempt_id), done.attempt_id),
        "add_comment": (lambda: reviews.add_comment(scene.store, student, done.attempt_id, "hello"), done.attempt_id),
        "hand_back": (
            lambda: reviews.hand_back(scene.store, student, done.attempt_id, expected_revision=0),
            done.attempt_id,
        ),
        "comments_on": (lambda: reviews.comments_on(scene.store, student, done.attempt_id), done.attempt_id),
        "handed_in": (lambda: handed_in(scene.store, student, done.attempt_id), done.attempt_id),
        "key_for": (lambda: key_for(scene.store, student, done.attempt_id), done.attempt_id),
        "answers_of": (lambda: class_work.answers_of(scene.store, student, made.work.id), made.work.id),
        "photo_at": (lambda: class_work.photo_at(scene.store, student, made.work.id, 1), made.work.id),
        "progress_of": (lambda: assignments.progress_of(scene.store, student, made.work.id), made.work.id),
        "open_key": (lambda: assignments.open_key(scene.store, student, made.work.id), made.work.id),
        "members": (lambda: classes.members(scene.store, student, made.group.id), made.group.id),
    }
    for name, (call, touched) in calls.items():
        with pytest.raises(NotAllowed):
            call()
        with scene.store.reading() as session:
            [line] = last_entries(session, 1)
        assert (line.action, line.outcome, line.actor_id, line.object_id) == (
            name,
            Outcome.REFUSED,
            student.id,
            touched,
        )


def test_handing_back_needs_open_work_with_its_photo(scene: Scene) -> None:
    made = a_class(scene)
    done = made.do(made.students[0], 1)
    assignments.close(scene.store, made.instructor, made.work.id)
    with pytest.raises(InvalidRecord, match="closed"):
        reviews.hand_back(scene.store, made.instructor, done.attempt_id, expected_revision=0)
    with pytest.raises(InvalidRecord, match="own button"):
        reviews.set_state(scene.store, made.instructor, done.attempt_id, ReviewState.HANDED_BACK, expected_revision=0)


def test_answers_of_a_class_are_laid_out_for_tables(scene: Scene) -> None:
    made = a_class(scene, n_students=3, order=Order.SCORE_FIRST)
    made.do(made.students[0], 1)
    scene.clock.turn(minutes=3)
    made.do(made.students[2], 1)
    made.do(made.students[2], 3)
    found = class_work.answers_of(scene.store, made.instructor, made.work.id)
    assert (found.class_title, found.assignment.id) == ("Linden Room", made.work.id)
    assert [(one.slot, one.student) for one in found.submissions] == [(1, 0), (1, 2), (3, 2)]
    assert [slot.title for slot in found.slots] == ["Teaches point 0", "Teaches point 1", "Teaches point 2"]
    assert all(slot.key == KEY for slot in found.slots)
    one = found.submissions[0]
    assert (one.first, one.final, one.landmarks, one.measures) == (SHEET, SECOND_SHEET, POINTS, MEASURES)
    assert one.handed_in_at <= found.submissions[1].handed_in_at
