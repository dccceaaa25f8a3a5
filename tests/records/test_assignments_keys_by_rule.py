"""The key of class work: the frozen one, shown by the rule of the assignment and not a moment earlier."""

from dataclasses import replace
from datetime import timedelta

import pytest
from class_scene import ClassScene, a_class, join
from records_scene import KEY, KEY_POINTS, MEASURES, SHEET, Scene, add, is_one_sentence, someone_else
from sqlalchemy import text

from records import teaching_sets as sets
from records.attempt.attempts import save_sheet, start_attempt
from records.attempt.handing_in import hand_in
from records.auditing.audit import Outcome, last_entries
from records.classroom import assignments, class_work, classes
from records.classroom.class_values import KeyRule
from records.classroom.slots import places_for
from records.consent.consents import Scope
from records.errors import InvalidRecord, KeyHidden, NotAllowed, NotFound, NotReady
from records.identity.people import Person, Role
from records.key.keys import key_for, key_waits, set_key
from records.models import PhotoRow
from records.photo.photos import check_use, get_photo, read_bytes
from rubric.answers import Answer, KeyAnswer
from vision.landmarks import LandmarkSet, Point


def waits(made: ClassScene, attempt_id: str, student: int = 0) -> str | None:
    """What the student is told; the two services must agree."""
    person = made.students[student]
    said = key_waits(made.scene.store, person, attempt_id)
    if said is None:
        assert key_for(made.scene.store, person, attempt_id).key == KEY
    else:
        with pytest.raises(KeyHidden) as hidden:
            key_for(made.scene.store, person, attempt_id)
        assert str(hidden.value) == said
        assert is_one_sentence(hidden.value)
    return said


def test_after_each_shows_the_key_on_handing_in_and_not_before(scene: Scene) -> None:
    made = a_class(scene)
    assert waits(made, made.start(made.students[0], 1).id) is not None
    assert waits(made, made.do(made.students[0], 2).attempt_id) is None


def test_after_due_shows_the_key_once_the_due_date_is_over(scene: Scene) -> None:
    made = a_class(scene, due_at=scene.clock() + timedelta(days=1), key_rule=KeyRule.AFTER_DUE)
    done = made.do(made.students[0], 1)
    said = waits(made, done.attempt_id)
    assert said is not None
    assert f"{scene.clock().astimezone() + timedelta(days=1):%d %B %Y, %H:%M}" in said
    scene.clock.turn(days=1, seconds=60)
    assert waits(made, done.attempt_id) is None
    still_open = made.start(made.students[1], 1)
    assert waits(made, still_open.id, 1) is not None


def test_when_opened_waits_for_the_instructor(scene: Scene) -> None:
    made = a_class(scene, key_rule=KeyRule.WHEN_OPENED)
    done = made.do(made.students[0], 1)
    scene.clock.turn(days=300)
    said = waits(made, done.attempt_id)
    assert said is not None
    assert "instructor" in said
    opened = assignments.open_key(scene.store, made.instructor, made.work.id)
    assert opened.key_opened_at == scene.clock()
    assert waits(made, done.attempt_id) is None
    scene.clock.turn(days=1)
    assert assignments.open_key(scene.store, made.instructor, made.work.id) == opened


def test_the_key_is_the_one_that_was_frozen_whatever_became_of_the_photo_s_own(scene: Scene) -> None:
    made = a_class(scene)
    done = made.do(made.students[0], 1)
    later = replace(KEY, answers={"lips_out": KeyAnswer(answer=Answer.NOT_SEEN, why="another view")})
    set_key(scene.store, made.instructor, made.photos[0].id, later, LandmarkSet(points={"chin": Point(x=1, y=2)}))
    found = key_for(scene.store, made.students[0], done.attempt_id)
    assert (found.key, found.landmarks) == (KEY, KEY_POINTS)


def repeat_of(made: ClassScene) -> tuple[int, int]:
    seen = assignments.progress_of(made.scene.store, made.instructor, made.work.id)
    assert seen.repeat is not None
    return seen.repeat


def test_a_repeated_photo_comes_twice_and_its_key_waits_until_all_is_through(scene: Scene) -> None:
    made = a_class(scene, n_photos=4, hidden_repeat=True)
    student = made.students[0]
    first, second = repeat_of(made)
    done = {slot: made.do(student, slot) for slot in range(1, 6) if slot != second}
    assert done[first].photo_id is not None
    held = {slot for slot, one in done.items() if waits(made, one.attempt_id) is not None}
    # Another photo's key waits as well, so that waiting does not tell which photo comes again.
    assert first in held
    assert len(held) == 2
    assert len({waits(made, done[slot].attempt_id) for slot in held}) == 1
    assert made.mine(student).slots[second - 1].repeats is None
    again = made.do(student, second)
    assert again.photo_id == done[first].photo_id
    assert all(waits(made, one.attempt_id) is None for one in (*done.values(), again))
    assert made.mine(student).slots[second - 1].repeats == first


def test_opening_the_key_does_not_show_that_of_a_photo_which_comes_again(scene: Scene) -> None:
    made = a_class(scene, n_photos=4, hidden_repeat=True, key_rule=KeyRule.WHEN_OPENED)
    first, _ = repeat_of(made)
    done = made.do(made.students[0], first)
    assignments.open_key(scene.store, made.instructor, made.work.id)
    said = waits(made, done.attempt_id)
    assert said is not None
    assert "again" not in said
    assert "twice" not in said


def test_nothing_that_a_student_reads_tells_of_a_repeat_before_the_end(scene: Scene) -> None:
    made = a_class(scene, n_photos=4, hidden_repeat=True)
    mine = made.mine(made.students[0])
    assert not mine.assignment.hidden_repeat
    assert mine.assignment.n_slots == 5
    assert {slot.repeats for slot in mine.slots} == {None}
    assert made.work.hidden_repeat


def test_who_left_the_repeat_out_and_saw_the_key_does_not_take_it_in_again(scene: Scene) -> None:
    made = a_class(scene, n_photos=3, hidden_repeat=True)
    student = made.students[0]
    first, second = repeat_of(made)
    class_work.leave_out(scene.store, student, made.work.id, second)
    done = {slot: made.do(student, slot) for slot in range(1, 5) if slot != second}
    assert waits(made, done[first].attempt_id) is None
    with pytest.raises(InvalidRecord, match="shown its key"):
        class_work.take_in_again(scene.store, student, made.work.id, second)
    class_work.leave_out(scene.store, made.students[1], made.work.id, second)
    class_work.take_in_again(scene.store, made.students[1], made.work.id, second)
    assert made.start(made.students[1], second).place is not None


def test_practising_alone_on_a_photo_of_class_work_is_no_way_round_the_rule(scene: Scene) -> None:
    made = a_class(scene, key_rule=KeyRule.WHEN_OPENED)
    student, store = made.students[0], scene.store
    with pytest.raises(NotAllowed, match="class work"):
        start_attempt(store, student, made.photos[0].id)
    # A photo that came with the program is within everybody's reach, and its key then waits for the class too.
    with store.writing() as session:
        session.get_one(PhotoRow, made.photos[0].id).owner_id = None
    alone = start_attempt(store, student, made.photos[0].id)
    save_sheet(store, student, alone.id, 1, SHEET, 0)
    hand_in(store, student, alone.id, measures_json=MEASURES, measure_version="7")
    said = waits(made, alone.id)
    assert said is not None
    assert "Week 2" in said
    made.do(student, 1)
    assert waits(made, alone.id) is not None
    assignments.open_key(store, made.instructor, made.work.id)
    assert waits(made, alone.id) is None
    others = someone_else(store, Role.STUDENT)
    free = start_attempt(store, others, made.photos[0].id)
    save_sheet(store, others, free.id, 1, SHEET, 0)
    hand_in(store, others, free.id, measures_json=MEASURES, measure_version="7")
    assert key_waits(store, others, free.id) is None


def test_a_draft_is_given_to_no_class_and_its_photos_are_out_of_reach(scene: Scene) -> None:
    made = a_class(scene)
    with scene.store.writing() as session:
        session.execute(text("UPDATE set_version SET state = 'draft' WHERE id = :id"), {"id": made.version.id})
    with pytest.raises(NotReady):
        assignments.give(scene.store, made.instructor, made.group.id, made.version.id, title="Too early")
    refused_and_logged(scene, made.students[0], made.photos[0].id)


def test_work_on_a_version_goes_on_after_it_was_retired(scene: Scene) -> None:
    made = a_class(scene)
    sets.retire(scene.store, made.instructor, made.version.id)
    assert waits(made, made.do(made.students[0], 1).attempt_id) is None
    with pytest.raises(NotReady, match="not retired"):
        assignments.give(scene.store, made.instructor, made.group.id, made.version.id, title="Once more")


def refused_and_logged(scene: Scene, person: Person, photo_id: str) -> None:
    """Every way to a photo is refused to that person, and each refusal stands in the log."""
    store = scene.store
    for name, call in (
        ("get_photo", lambda: get_photo(store, person, photo_id)),
        ("read_bytes", lambda: read_bytes(store, person, photo_id, "screen")),
        ("check_use", lambda: check_use(store, person, photo_id, Scope.OWN_PRACTICE)),
    ):
        with pytest.raises(NotAllowed):
            call()
        with store.reading() as session:
            [line] = last_entries(session, 1)
        assert (line.action, line.outcome, line.object_id) == (name, Outcome.REFUSED, photo_id)


def test_a_photo_is_reached_through_the_class_by_its_members_only(scene: Scene) -> None:
    made = a_class(scene)
    photo_id, student = made.photos[0].id, made.students[0]
    assert read_bytes(scene.store, student, photo_id, "screen")
    refused_and_logged(scene, someone_else(scene.store, Role.STUDENT), photo_id)
    with scene.store.writing() as session:
        session.execute(text("UPDATE class_member SET left_at = joined_at WHERE person_id = :id"), {"id": student.id})
    refused_and_logged(scene, student, photo_id)


def test_after_closing_a_student_reaches_only_the_photos_that_he_or_she_handed_in(scene: Scene) -> None:
    made = a_class(scene)
    student = made.students[0]
    done = made.do(student, 1)
    assignments.close(scene.store, made.instructor, made.work.id)
    assert read_bytes(scene.store, student, made.photos[0].id, "screen")
    assert waits(made, done.attempt_id) is None
    refused_and_logged(scene, student, made.photos[1].id)
    assert read_bytes(scene.store, made.instructor, made.photos[1].id, "screen")


def test_a_class_whose_time_is_over_gives_no_photo_and_no_work(scene: Scene) -> None:
    made = a_class(scene)
    with scene.store.writing() as session:
        session.execute(text("UPDATE class_group SET erased_at = made_at"))
    refused_and_logged(scene, made.students[0], made.photos[0].id)
    assert assignments.for_me(scene.store, made.students[0]) == ()
    for call in (
        lambda: made.start(made.students[0], 1),
        lambda: assignments.progress_of(scene.store, made.instructor, made.work.id),
    ):
        with pytest.raises(NotFound):
            call()


def test_a_consent_for_one_class_does_not_serve_another(scene: Scene) -> None:
    """The photo's consent covers classes only; naming a class makes it a consent for that class."""
    made = a_class(scene, scopes=(Scope.OWN_PRACTICE, Scope.OWN_CLASS))
    other = join_new_class(scene, made)
    with scene.store.writing() as session:
        session.execute(text("UPDATE consent SET class_id = :id"), {"id": made.group.id})
    with pytest.raises(NotReady, match="another class"):
        assignments.give(scene.store, made.instructor, other, made.version.id, title="Elsewhere")
    assert read_bytes(scene.store, made.students[0], made.photos[0].id, "screen")


def join_new_class(scene: Scene, made: ClassScene) -> str:
    group = classes.new_class(
        scene.store, made.instructor, title="Another", keep_until=scene.store.today() + timedelta(days=9)
    )
    join(scene, group.id, someone_else(scene.store, Role.STUDENT))
    return group.id


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"title": " "}, "title of the work"),
        ({"due_at": "yesterday"}, "must lie ahead"),
        ({"key_rule": KeyRule.AFTER_DUE}, "needs a due date"),
    ],
)
def test_work_that_makes_no_sense_is_not_given(scene: Scene, options: dict[str, object], said: str) -> None:
    made = a_class(scene)
    if options.get("due_at"):
        options = {"due_at": scene.clock() - timedelta(days=1)}
    with pytest.raises(InvalidRecord, match=said) as refused:
        assignments.give(scene.store, made.instructor, made.group.id, made.version.id, **{"title": "x", **options})
    assert is_one_sentence(refused.value)
    assert len(assignments.list_assignments(scene.store, made.instructor, made.group.id)) == 1


def test_the_due_date_can_be_moved(scene: Scene) -> None:
    made = a_class(scene, due_at=scene.clock() + timedelta(days=1), key_rule=KeyRule.AFTER_DUE)
    moved = assignments.change_due(scene.store, made.instructor, made.work.id, scene.clock() + timedelta(days=4))
    assert moved.due_at == scene.clock() + timedelta(days=4)
    with pytest.raises(InvalidRecord, match="needs a due date"):
        assignments.change_due(scene.store, made.instructor, made.work.id, None)


def test_another_s_own_photo_is_still_another_s(scene: Scene) -> None:
    made = a_class(scene)
    private = add(scene.store, made.instructor, shade=200, title="Private")
    refused_and_logged(scene, made.students[0], private.id)


def test_the_places_of_an_assignment_follow_from_its_ids(scene: Scene) -> None:
    made = a_class(scene, n_photos=4, hidden_repeat=True)
    expected = places_for(4, hidden_repeat=True, seed=f"{made.work.id} {made.version.id}")
    assert repeat_of(made) == expected.repeat
