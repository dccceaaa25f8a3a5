"""A class is made, joined, left and run only by those who run it."""

from datetime import timedelta

import pytest
from class_scene import ClassScene, a_class, join
from records_scene import Scene, is_one_sentence, someone_else

from records.classroom import assignments, class_work, classes, reviews
from records.classroom.class_values import Part
from records.classroom.membership import add_member
from records.consent.own_data import erase_own_data
from records.errors import InvalidRecord, NotAllowed, NotFound
from records.identity.join_codes import make_join_code
from records.identity.joining import join_class
from records.identity.people import Role, add_person


def test_whoever_makes_a_class_runs_it_and_students_see_it_as_theirs(scene: Scene) -> None:
    made = a_class(scene)
    [listed] = classes.list_classes(scene.store, made.instructor)
    assert (listed.title, listed.n_students, listed.n_assignments) == ("Linden Room", 2, 1)
    assert classes.my_classes(scene.store, made.students[0]) == (listed,)
    assert classes.my_classes(scene.store, made.instructor) == ()
    there = classes.members(scene.store, made.instructor, made.group.id)
    assert [one.part for one in there] == [Part.INSTRUCTOR, Part.STUDENT, Part.STUDENT]
    assert {one.person_id for one in there[1:]} == {student.id for student in made.students}


@pytest.mark.parametrize("days", [-1, 1099])
def test_a_class_is_kept_until_a_day_within_three_years(scene: Scene, days: int) -> None:
    until = scene.store.today() + timedelta(days=days)
    with pytest.raises(InvalidRecord) as refused:
        classes.new_class(scene.store, scene.person, title="Linden Room", keep_until=until)
    assert is_one_sentence(refused.value)


def test_name_and_last_day_can_be_changed(scene: Scene) -> None:
    made = a_class(scene)
    until = scene.store.today() + timedelta(days=40)
    changed = classes.change_class(
        scene.store, made.instructor, made.group.id, title="Linden, spring", keep_until=until
    )
    assert (changed.title, changed.keep_until) == ("Linden, spring", until)


def test_another_instructor_reaches_a_class_only_once_let_in(scene: Scene) -> None:
    made = a_class(scene)
    store, colleague = scene.store, someone_else(scene.store, Role.INSTRUCTOR)
    done = made.do(made.students[0], 1)
    calls = (
        lambda: classes.get_class(store, colleague, made.group.id),
        lambda: classes.members(store, colleague, made.group.id),
        lambda: assignments.list_assignments(store, colleague, made.group.id),
        lambda: assignments.progress_of(store, colleague, made.work.id),
        lambda: class_work.answers_of(store, colleague, made.work.id),
        lambda: reviews.work_to_review(store, colleague, done.attempt_id),
        lambda: reviews.comments_on(store, colleague, done.attempt_id),
    )
    for call in calls:
        with pytest.raises(NotAllowed):
            call()
    classes.add_instructor(store, made.instructor, made.group.id, handle=f" {colleague.handle} ")
    for call in calls:
        call()
    with pytest.raises(InvalidRecord, match="role of an instructor"):
        classes.add_instructor(store, made.instructor, made.group.id, handle=made.students[0].handle)


def test_a_removed_student_is_out_and_the_only_instructor_stays(scene: Scene) -> None:
    made = a_class(scene)
    classes.remove_member(scene.store, made.instructor, made.group.id, made.students[0].id)
    assert classes.my_classes(scene.store, made.students[0]) == ()
    assert len(classes.members(scene.store, made.instructor, made.group.id)) == 2
    for call in (
        lambda: classes.leave(scene.store, made.instructor, made.group.id),
        lambda: classes.remove_member(scene.store, made.instructor, made.group.id, made.instructor.id),
    ):
        with pytest.raises(InvalidRecord, match="someone who runs it"):
            call()
    with pytest.raises(NotFound):
        classes.leave(scene.store, made.students[0], made.group.id)


def test_a_number_lasts_through_erasing_and_coming_back_and_nobody_is_given_it_again(scene: Scene) -> None:
    made = a_class(scene, n_students=3)
    first, second, third = made.students
    for student in made.students:
        made.do(student, 1)
    code = make_join_code(scene.store, made.instructor, made.group.id).code
    classes.leave(scene.store, second, made.group.id)
    scene.clock.turn(days=1)
    join_class(scene.store, second, code)
    assert labels(made) == {first.id: "Student 1", second.id: "Student 2", third.id: "Student 3"}
    erase_own_data(scene.store, first)
    erase_own_data(scene.store, third)
    newcomer = someone_else(scene.store, Role.STUDENT)
    join_class(scene.store, newcomer, code)
    made.do(newcomer, 1)
    assert labels(made) == {second.id: "Student 2", newcomer.id: "Student 4"}


def labels(made: ClassScene) -> dict[str | None, str]:
    store = made.scene.store
    answers = class_work.answers_of(store, made.instructor, made.work.id, with_names=True)
    return {one.person_id: one.label for one in answers.students}


def test_members_are_listed_in_the_order_in_which_people_read_numbers(scene: Scene) -> None:
    made = a_class(scene, n_students=0)
    with scene.store.writing() as session:
        for number in (10, 2, 1, 11):
            student = add_person(scene.store, session, f"heron {number}", frozenset({Role.STUDENT}))
            add_member(session, made.group.id, student.id, "student", at=scene.clock())
    listed = classes.members(scene.store, made.instructor, made.group.id)
    assert [one.handle for one in listed[1:]] == ["heron 1", "heron 2", "heron 10", "heron 11"]


def test_labels_stay_with_their_students_whoever_leaves(scene: Scene) -> None:
    made = a_class(scene, n_students=3)
    for student in made.students:
        made.do(student, 1)
    classes.leave(scene.store, made.students[0], made.group.id)
    join(scene, made.group.id, someone_else(scene.store, Role.STUDENT))
    answers = class_work.answers_of(scene.store, made.instructor, made.work.id, with_names=True)
    assert [one.label for one in answers.students] == [f"Student {n}" for n in (1, 2, 3, 4)]
    assert [one.person_id for one in answers.students[:3]] == [student.id for student in made.students]
    unnamed = class_work.answers_of(scene.store, made.instructor, made.work.id)
    assert {(one.person_id, one.handle) for one in unnamed.students} == {(None, None)}
