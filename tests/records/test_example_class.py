"""An example class is made in one step for one person, says that it is invented, and goes without a trace."""

import pytest
from class_scene import a_class, join
from records_scene import (
    KEY,
    KEY_POINTS,
    MEASURES,
    POINTS,
    SECOND_SHEET,
    SHEET,
    Scene,
    add,
    clean_jpeg,
    someone_else,
)
from sqlalchemy import func, select

from records.auditing.audit import check_chain
from records.classroom import assignments, class_work, classes
from records.classroom.example_class import add_example_class, example_class_of, example_photos
from records.classroom.example_end import remove_example_class
from records.classroom.example_values import ExampleClass, ExampleWords, ExampleWork
from records.consent.retention import erase_due_classes
from records.errors import InvalidRecord, NotAllowed, NotFound
from records.identity.account_rows import add_account
from records.identity.managing import list_people, my_students
from records.identity.people import Person, Role, add_person
from records.models import (
    AssignmentRow,
    AttemptRow,
    ClassRow,
    MemberRow,
    PersonRow,
    PhotoRow,
    SetRow,
    SheetRow,
    VersionRow,
)
from records.photo.samples import ensure_sample
from records.safekeeping.verifying import verify
from records.teaching_sets import list_sets

WORDS = ExampleWords(class_title="Class (example)", set_title="Set (example)", work_title="Work (example)")
WORK = ExampleWork(first=SHEET, second=SECOND_SHEET, landmarks=POINTS, measures=MEASURES, seconds=200.0)


@pytest.fixture
def shipped(scene: Scene) -> list[str]:
    """Ids of two photos that came with the program."""
    for number in range(2):
        jpeg = clean_jpeg(shade=60 + number)
        ensure_sample(
            scene.store, sample_id=f"doll_{number}", jpeg=jpeg, screen_jpeg=jpeg, width=48, height=32,
            title=f"Doll {number}", key=KEY, key_landmarks=KEY_POINTS,
        )  # fmt: skip
    return [photo.photo_id for photo in example_photos(scene.store, scene.person)]


def made(scene: Scene, shipped: list[str], person: Person | None = None, n: int = 3) -> ExampleClass:
    students = [dict.fromkeys(shipped, WORK) for _ in range(n)]
    return add_example_class(
        scene.store,
        person or scene.person,
        WORDS,
        students,
        photo_ids=shipped,
        measure_version="7",
        checklist_version="3",
    )


def count(scene: Scene, table: type) -> int:
    with scene.store.reading() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


def test_its_students_handed_in_what_was_simulated_and_their_names_say_that_they_are_invented(
    scene: Scene, shipped: list[str]
) -> None:
    example = made(scene, shipped)
    answers = class_work.answers_of(scene.store, scene.person, example.work_id, with_names=True)
    assert (answers.class_title, answers.assignment.title) == ("Class (example)", "Work (example)")
    assert [one.handle[:17] for one in answers.students if one.handle] == [
        "Example student 0", "Example student 0", "Example student 0",
    ]  # fmt: skip
    assert [one.label for one in answers.students] == ["Student 1", "Student 2", "Student 3"]
    assert len(answers.submissions) == 6
    for one in answers.submissions:
        assert (one.first, one.final, one.landmarks, dict(one.measures)) == (SHEET, SECOND_SHEET, POINTS, MEASURES)
        assert (one.handed_in_at - one.started_at).total_seconds() == 200.0
    assert [slot.key for slot in answers.slots] == [KEY, KEY]


def test_a_second_time_gives_the_same_example_and_makes_nothing(scene: Scene, shipped: list[str]) -> None:
    first = made(scene, shipped)
    assert example_class_of(scene.store, scene.person) == first
    tables = (ClassRow, AssignmentRow, AttemptRow, PersonRow, SetRow)
    before = [count(scene, table) for table in tables]
    assert made(scene, shipped) == first
    assert [count(scene, table) for table in tables] == before


def test_a_class_of_ones_own_is_no_example(scene: Scene) -> None:
    own = a_class(scene)
    assert example_class_of(scene.store, scene.person) is None
    with pytest.raises(InvalidRecord, match="no example"):
        remove_example_class(scene.store, scene.person, own.group.id)
    assert class_work.answers_of(scene.store, scene.person, own.work.id).students


def test_an_instructor_who_builds_no_sets_has_one_of_their_own_and_nobody_else_reaches_it(
    scene: Scene, shipped: list[str]
) -> None:
    instructor, other = (someone_else(scene.store, Role.INSTRUCTOR) for _ in range(2))
    example = made(scene, shipped, instructor)
    assert example_class_of(scene.store, other) is None
    with pytest.raises(NotAllowed):
        class_work.answers_of(scene.store, other, example.work_id)
    with pytest.raises(NotAllowed):
        remove_example_class(scene.store, other, example.class_id)
    for role in (Role.STUDENT, Role.EDUCATOR):
        with pytest.raises(NotAllowed):
            made(scene, shipped, someone_else(scene.store, role))


def test_it_is_made_of_shipped_photos_only(scene: Scene, shipped: list[str]) -> None:
    for photo_ids in ([], [*shipped, add(scene.store, scene.person).id], ["0" * 32]):
        with pytest.raises(InvalidRecord, match="came with the program"):
            made(scene, photo_ids)
    assert count(scene, ClassRow) == count(scene, SetRow) == 0


def test_removing_takes_its_work_its_people_and_its_set_and_nothing_else(scene: Scene, shipped: list[str]) -> None:
    own = a_class(scene)
    own.do(own.students[0], 1)
    tables = (AssignmentRow, AttemptRow, SheetRow, MemberRow, PersonRow, PhotoRow, SetRow, VersionRow)
    before = [count(scene, table) for table in tables]
    example = made(scene, shipped)
    real = join(scene, example.class_id, someone_else(scene.store, Role.STUDENT))
    remove_example_class(scene.store, scene.person, example.class_id)
    n_people = tables.index(PersonRow)
    before[n_people] += 1  # who joined the example and was not invented stays
    assert [count(scene, table) for table in tables] == before
    with pytest.raises(NotFound):
        classes.get_class(scene.store, scene.person, example.class_id)
    assert class_work.answers_of(scene.store, scene.person, own.work.id).submissions
    assert assignments.for_me(scene.store, real) == ()
    assert example_class_of(scene.store, scene.person) is None
    assert made(scene, shipped).class_id != example.class_id


def test_a_set_that_another_class_was_given_stays(scene: Scene, shipped: list[str]) -> None:
    own = a_class(scene)
    example = made(scene, shipped)
    version_id = class_work.answers_of(scene.store, scene.person, example.work_id).assignment.version_id
    assignments.give(scene.store, scene.person, own.group.id, version_id, title="Week 3")
    remove_example_class(scene.store, scene.person, example.class_id)
    assert "Set (example)" in [one.title for one in list_sets(scene.store, scene.person)]


def test_invented_students_are_no_people_whose_account_one_could_keep(scene: Scene, shipped: list[str]) -> None:
    made(scene, shipped)
    assert [one.handle for one in list_people(scene.store, scene.person)] == []
    assert [one.handle for one in my_students(scene.store, scene.person)] == []


def test_when_its_time_is_over_the_invented_people_go_with_the_work_and_others_stay(
    scene: Scene, shipped: list[str]
) -> None:
    own = a_class(scene)
    own.do(own.students[0], 1)
    people = count(scene, PersonRow)
    example = made(scene, shipped)
    real = join(scene, example.class_id, someone_else(scene.store, Role.STUDENT))
    with scene.store.writing() as session:
        called_so = add_person(scene.store, session, "Example student of mine", frozenset({Role.STUDENT}))
        add_account(scene.store, session, called_so.id, "not a hash", must_change=False)
    join(scene, example.class_id, called_so)
    for days, erased in ((91, 0), (1, 0), (7, 1)):
        scene.clock.turn(days=days)
        assert erase_due_classes(scene.store) == erased
    assert count(scene, PersonRow) == people + 2
    with scene.store.reading() as session:
        assert session.get(PersonRow, real.id) is not None
        assert session.get(PersonRow, called_so.id) is not None
    assert class_work.answers_of(scene.store, scene.person, own.work.id).submissions
    assert check_chain(scene.store).broken_at is None
    assert verify(scene.store).faults == ()
