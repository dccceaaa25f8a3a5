"""A student works through an assignment: place by place, left out without a reason, late, handed back, taken away."""

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from class_scene import ClassScene, a_class, join
from hypothesis import given
from hypothesis import strategies as st
from records_scene import MEASURES, POINTS, SECOND_SHEET, SHEET, Scene, is_one_sentence, someone_else

from records.attempt.attempts import (
    Order,
    Step,
    open_attempts,
    resume,
    save_points,
    save_sheet,
    save_step,
    start_attempt,
)
from records.attempt.handing_in import hand_in, history
from records.classroom import assignments, class_work, classes, reviews
from records.classroom.class_values import KeyRule, SlotState
from records.classroom.slots import LEAST_BETWEEN, places_for
from records.consent.consents import Scope
from records.consent.withdrawal import withdraw
from records.errors import AlreadyHandedIn, InvalidRecord, NotAllowed, NotFound, StaleWrite
from records.identity.people import Role
from records.photo.photos import read_bytes


def states(made: ClassScene, student: int = 0) -> list[SlotState]:
    return [slot.state for slot in made.mine(made.students[student]).slots]


def test_a_student_goes_through_the_places_one_after_the_other(scene: Scene) -> None:
    made = a_class(scene)
    student = made.students[0]
    assert states(made) == [SlotState.NOT_BEGUN] * 3
    made.start(student, 1)
    assert states(made)[0] == SlotState.BEGUN
    assert made.mine(student).next_slot is not None
    for slot in (1, 2, 3):
        upcoming = made.mine(student).next_slot
        assert upcoming is not None
        assert upcoming.slot == slot
        made.do(student, slot) if slot > 1 else finish(made, slot)
    assert states(made) == [SlotState.HANDED_IN] * 3
    assert made.mine(student).next_slot is None
    assert states(made, 1) == [SlotState.NOT_BEGUN] * 3


def finish(made: ClassScene, slot: int) -> None:
    """Fill and hand in what was begun at a slot."""
    student, store = made.students[0], made.scene.store
    attempt = made.start(student, slot)
    save_sheet(store, student, attempt.id, 1, SHEET, 0)
    save_sheet(store, student, attempt.id, 2, SECOND_SHEET, 0)
    hand_in(store, student, attempt.id, measures_json=MEASURES, measure_version="7")


def test_beginning_twice_gives_the_same_attempt_and_nothing_is_begun_after_handing_in(scene: Scene) -> None:
    made = a_class(scene)
    student = made.students[0]
    begun = made.start(student, 1)
    save_sheet(scene.store, student, begun.id, 1, SHEET, 0)
    again = made.start(student, 1)
    assert (again.id, again.sheet(1)) == (begun.id, SHEET)
    finish_first = hand_in(scene.store, student, begun.id, measures_json=MEASURES, measure_version="7")
    assert finish_first.place is not None
    with pytest.raises(AlreadyHandedIn):
        made.start(student, 1)


def test_many_tabs_that_begin_at_once_share_one_attempt(scene: Scene) -> None:
    made = a_class(scene)
    together = threading.Barrier(6)

    def begin(_: int) -> str:
        together.wait()
        return made.start(made.students[0], 2).id

    with ThreadPoolExecutor(6) as pool:
        assert len(set(pool.map(begin, range(6)))) == 1


def test_of_two_tabs_the_later_save_does_not_win_silently(scene: Scene) -> None:
    made = a_class(scene)
    student = made.students[0]
    attempt = made.start(student, 1)
    save_sheet(scene.store, student, attempt.id, 1, SHEET, 0)
    with pytest.raises(StaleWrite):
        save_sheet(scene.store, student, attempt.id, 1, SECOND_SHEET, 0)
    assert resume(scene.store, student, attempt.id).sheet(1) == SHEET


def test_the_name_of_class_work_tells_the_place_and_not_what_the_photo_teaches(scene: Scene) -> None:
    made = a_class(scene, order=Order.MEASURE_FIRST)
    student = made.students[0]
    attempt = made.start(student, 2)
    assert (attempt.photo_title, attempt.step) == ("Week 2, photo 2 of 3", Step.MEASURE)
    assert "Teaches" not in attempt.photo_title
    finish(made, 1)
    assert [done.photo_title for done in history(scene.store, student)] == ["Week 2, photo 1 of 3"]


def test_handing_in_after_the_due_date_is_taken_and_marked(scene: Scene) -> None:
    made = a_class(scene, due_at=scene.clock() + timedelta(days=2))
    student = made.students[0]
    made.do(student, 1)
    scene.clock.turn(days=3)
    made.do(student, 2)
    mine = made.mine(student)
    assert [slot.late for slot in mine.slots] == [False, True, False]
    assert mine.late_now
    [line, _] = assignments.progress_of(scene.store, made.instructor, made.work.id).students
    assert line.late == {2}


def test_a_photo_is_left_out_without_a_reason_and_taken_in_again(scene: Scene) -> None:
    made = a_class(scene)
    student = made.students[0]
    begun = made.start(student, 2)
    class_work.leave_out(scene.store, student, made.work.id, 2)
    class_work.leave_out(scene.store, student, made.work.id, 2)
    assert states(made) == [SlotState.NOT_BEGUN, SlotState.LEFT_OUT, SlotState.NOT_BEGUN]
    with pytest.raises(InvalidRecord, match="left this photo out"):
        made.start(student, 2)
    class_work.take_in_again(scene.store, student, made.work.id, 2)
    assert made.start(student, 2).id == begun.id


def test_all_of_it_can_be_left_out_at_any_moment_and_what_was_handed_in_stays(scene: Scene) -> None:
    made = a_class(scene)
    student = made.students[0]
    made.do(student, 1)
    class_work.leave_out(scene.store, student, made.work.id)
    assert made.mine(student).left_out
    assert states(made) == [SlotState.HANDED_IN, SlotState.LEFT_OUT, SlotState.LEFT_OUT]
    assert made.mine(student).next_slot is None
    class_work.take_in_again(scene.store, student, made.work.id)
    assert states(made) == [SlotState.HANDED_IN, SlotState.NOT_BEGUN, SlotState.NOT_BEGUN]


def test_who_left_something_out_is_told_to_nobody_and_only_counted(scene: Scene) -> None:
    made = a_class(scene)
    for student in made.students:
        class_work.leave_out(scene.store, student, made.work.id, 2)
    class_work.leave_out(scene.store, made.students[0], made.work.id)
    seen = assignments.progress_of(scene.store, made.instructor, made.work.id, with_names=True)
    assert dict(seen.left_out) == {0: 1, 2: 2}
    assert {state for line in seen.students for state in line.states.values()} == {SlotState.NOT_BEGUN}
    answers = class_work.answers_of(scene.store, made.instructor, made.work.id, with_names=True)
    assert (dict(answers.left_out), answers.submissions) == ({0: 1, 2: 2}, ())


def test_what_was_handed_in_is_not_left_out_afterwards(scene: Scene) -> None:
    made = a_class(scene)
    made.do(made.students[0], 1)
    with pytest.raises(AlreadyHandedIn):
        class_work.leave_out(scene.store, made.students[0], made.work.id, 1)


@pytest.mark.parametrize("slot", [0, 4, -1])
def test_there_is_no_place_beyond_the_photos(scene: Scene, slot: int) -> None:
    made = a_class(scene)
    with pytest.raises(InvalidRecord) as refused:
        made.start(made.students[0], slot)
    assert is_one_sentence(refused.value)


def test_closed_work_takes_nothing_more_and_keeps_what_was_saved(scene: Scene) -> None:
    made = a_class(scene)
    student, store = made.students[0], scene.store
    attempt = made.start(student, 1)
    save_sheet(store, student, attempt.id, 1, SHEET, 0)
    assignments.close(store, made.instructor, made.work.id)
    calls = (
        lambda: made.start(student, 1),
        lambda: save_sheet(store, student, attempt.id, 1, SECOND_SHEET, 1),
        lambda: save_points(store, student, attempt.id, 1, POINTS, 0),
        lambda: save_step(store, student, attempt.id, Step.MEASURE),
        lambda: hand_in(store, student, attempt.id, measures_json={}, measure_version="1"),
        lambda: class_work.leave_out(store, student, made.work.id, 2),
        lambda: class_work.take_in_again(store, student, made.work.id, 2),
    )
    for call in calls:
        with pytest.raises(NotAllowed, match="closed"):
            call()
    assert resume(store, student, attempt.id).sheet(1) == SHEET
    assert made.mine(student).next_slot is None
    assert open_attempts(store, student) == ()
    assignments.reopen(store, made.instructor, made.work.id)
    assert [one.id for one in open_attempts(store, student)] == [attempt.id]
    assert hand_in(store, student, attempt.id, measures_json={}, measure_version="1").final_sheet == SHEET


def test_whoever_left_the_class_goes_no_further_and_the_work_handed_in_stays(scene: Scene) -> None:
    made = a_class(scene)
    student, store = made.students[0], scene.store
    made.do(student, 1)
    attempt = made.start(student, 2)
    save_sheet(store, student, attempt.id, 1, SHEET, 0)
    classes.leave(store, student, made.group.id)
    assert assignments.for_me(store, student) == ()
    for call in (
        lambda: made.start(student, 2),
        lambda: save_sheet(store, student, attempt.id, 1, SECOND_SHEET, 1),
        lambda: hand_in(store, student, attempt.id, measures_json={}, measure_version="1"),
        lambda: made.mine(student),
    ):
        with pytest.raises(NotAllowed):
            call()
    answers = class_work.answers_of(store, made.instructor, made.work.id)
    assert [(one.student, one.slot) for one in answers.submissions] == [(0, 1)]
    assert [one.left_class for one in answers.students] == [True, False]


def test_points_are_placed_twice_where_the_instructor_wants_it(scene: Scene) -> None:
    made = a_class(scene, places_twice=True)
    student, store = made.students[0], scene.store
    attempt = made.start(student, 1)
    assert attempt.place is not None
    assert attempt.place.places_twice
    save_sheet(store, student, attempt.id, 1, SHEET, 0)
    save_points(store, student, attempt.id, 1, POINTS, 0)
    with pytest.raises(InvalidRecord, match="once more, blind"):
        hand_in(store, student, attempt.id, measures_json={}, measure_version="1")
    save_points(store, student, attempt.id, 2, POINTS, 0)
    assert set(hand_in(store, student, attempt.id, measures_json={}, measure_version="1").landmarks) == {1, 2}


def test_a_photo_without_any_point_needs_no_second_placing(scene: Scene) -> None:
    made = a_class(scene, places_twice=True)
    attempt = made.start(made.students[0], 1)
    save_sheet(scene.store, made.students[0], attempt.id, 1, SHEET, 0)
    done = hand_in(scene.store, made.students[0], attempt.id, measures_json={}, measure_version="1")
    assert done.attempt_id == attempt.id


def test_a_withdrawn_photo_leaves_its_place_as_a_mark_and_the_scores_stay(scene: Scene) -> None:
    made = a_class(scene, scopes=(Scope.OWN_PRACTICE, Scope.TEACHING_SETS))
    first, second = made.students
    made.do(first, 2)
    made.start(second, 2)
    withdraw(scene.store, made.instructor, made.photos[1].consent_id)
    assert states(made, 0) == [SlotState.NOT_BEGUN, SlotState.HANDED_IN, SlotState.NOT_BEGUN]
    assert states(made, 1) == [SlotState.NOT_BEGUN, SlotState.REMOVED, SlotState.NOT_BEGUN]
    assert open_attempts(scene.store, second) == ()
    [done] = history(scene.store, first)
    assert (done.photo_id, done.photo_title) == (None, "Week 2, photo 2 of 3")
    assert done.measures == MEASURES
    assert set(done.final_sheet.answers) == set(SECOND_SHEET.answers)
    answers = class_work.answers_of(scene.store, made.instructor, made.work.id)
    [kept] = answers.submissions
    assert dict(kept.landmarks.points) == {}
    assert [slot.photo_id is None for slot in answers.slots] == [False, True, False]
    assert assignments.progress_of(scene.store, made.instructor, made.work.id).removed == {2}
    with pytest.raises(NotFound):
        made.start(second, 2)


def test_handed_back_work_gets_another_try_and_the_first_one_is_kept(scene: Scene) -> None:
    made = a_class(scene)
    student = made.students[0]
    first = made.do(student, 1)
    review = reviews.hand_back(scene.store, made.instructor, first.attempt_id, expected_revision=0)
    assert review.state == reviews.ReviewState.HANDED_BACK
    assert states(made)[0] == SlotState.HANDED_BACK
    upcoming = made.mine(student).next_slot
    assert upcoming is not None
    assert upcoming.slot == 1
    second = made.do(student, 1)
    assert second.attempt_id != first.attempt_id
    assert second.photo_title == "Week 2, photo 1 of 3, try 2"
    assert states(made)[0] == SlotState.HANDED_IN
    tries = class_work.answers_of(scene.store, made.instructor, made.work.id).submissions
    assert [(one.try_number, one.latest) for one in tries] == [(1, False), (2, True)]
    with pytest.raises(InvalidRecord, match="another try already"):
        reviews.hand_back(scene.store, made.instructor, first.attempt_id, expected_revision=1)


def test_a_student_of_another_class_sees_nothing_of_it(scene: Scene) -> None:
    made = a_class(scene)
    other_class = classes.new_class(
        scene.store, made.instructor, title="Another", keep_until=scene.store.today() + timedelta(days=9)
    )
    stranger = join(scene, other_class.id, someone_else(scene.store, Role.STUDENT))
    assert assignments.for_me(scene.store, stranger) == ()
    for call in (
        lambda: made.start(stranger, 1),
        lambda: made.mine(stranger),
        lambda: class_work.leave_out(scene.store, stranger, made.work.id),
        lambda: read_bytes(scene.store, stranger, made.photos[0].id, "screen"),
        lambda: start_attempt(scene.store, stranger, made.photos[0].id),
    ):
        with pytest.raises(NotAllowed):
            call()


def test_class_work_is_sorted_by_what_is_due_first_and_closed_work_comes_last(scene: Scene) -> None:
    made = a_class(scene, due_at=scene.clock() + timedelta(days=5))
    give = {"key_rule": KeyRule.AFTER_EACH}
    for title, days in (("later", 9), ("sooner", 2), ("closed", 1)):
        due = scene.clock() + timedelta(days=days)
        assignments.give(scene.store, made.instructor, made.group.id, made.version.id, title=title, due_at=due, **give)
    assignments.give(scene.store, made.instructor, made.group.id, made.version.id, title="no date", **give)
    closed = next(
        one
        for one in assignments.list_assignments(scene.store, made.instructor, made.group.id)
        if one.title == "closed"
    )
    assignments.close(scene.store, made.instructor, closed.id)
    titles = [one.assignment.title for one in assignments.for_me(scene.store, made.students[0])]
    assert titles == ["sooner", "Week 2", "later", "no date", "closed"]


@given(n=st.integers(1, 60), seed=st.text(max_size=20))
def test_a_repeat_comes_later_with_others_between_and_is_not_the_only_key_held_back(n: int, seed: str) -> None:
    found = places_for(n, hidden_repeat=True, seed=seed)
    assert found.repeat is not None
    first, second = found.repeat
    assert len(found.photo_at) == n + 1
    assert found.photo_at[first - 1] == found.photo_at[second - 1]
    assert second - first - 1 >= min(LEAST_BETWEEN, n - 1)
    assert [at for slot, at in enumerate(found.photo_at, start=1) if slot != second] == list(range(n))
    assert set(found.repeat) < found.held_back if n > 1 else set(found.repeat) == found.held_back
    assert found == places_for(n, hidden_repeat=True, seed=seed)


def test_different_assignments_repeat_different_photos() -> None:
    repeats = {places_for(8, hidden_repeat=True, seed=str(number)).repeat for number in range(200)}
    assert len(repeats) > 15
