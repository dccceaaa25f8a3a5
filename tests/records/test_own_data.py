"""What someone takes along is their own and all of it; what is erased is gone; class work ends on its last day."""

import json
import zipfile
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from records_scene import (
    KEY,
    KEY_POINTS,
    MEASURES,
    POINTS,
    Scene,
    add,
    clean_jpeg,
    consent_of,
    half_done,
    is_one_sentence,
    someone_else,
)
from sqlalchemy import select

from records.attempt.handing_in import hand_in, history
from records.attempt.own_sigma import own_sigma_for, record_own_sigma
from records.auditing.audit import check_chain
from records.consent.own_data import erase_own_data, export_own_data
from records.consent.retention import daily, erase_due_classes, kept_until
from records.errors import NotAllowed
from records.identity.people import Person, Role, local_person
from records.key.keys import set_key
from records.models import (
    AccountRow,
    AssignmentRow,
    AttemptRow,
    ClassRow,
    CommentRow,
    MemberRow,
    OptOutRow,
    PersonRow,
    SetRow,
    VersionRow,
)
from records.photo.photos import list_photos
from records.rights import roles_of
from records.safekeeping.verifying import verify
from records.store import Store


def taken(scene: Scene, person: Person) -> dict[str, Any]:
    with zipfile.ZipFile(BytesIO(export_own_data(scene.store, person))) as packed:
        assert packed.testzip() is None
        return {
            name.removesuffix(".json"): json.loads(packed.read(name))
            for name in packed.namelist()
            if name.endswith(".json")
        }


@pytest.fixture
def student(scene: Scene) -> Person:
    """Someone with a handed-in attempt, an open one, a comment, a spread, a class and a photo left out."""
    person = someone_else(scene.store, Role.STUDENT)
    photo = add(scene.store, person, consent_of(scene.clock), title="my own doll")
    attempt = half_done(scene.store, person, photo)
    record_own_sigma(scene.store, person, sigma_percent=1.25, n_points=6, attempt_id=attempt.id)
    hand_in(scene.store, person, attempt.id, measures_json=MEASURES, measure_version="1")
    half_done(scene.store, person, photo)
    in_a_class(scene, person)
    with scene.store.writing() as session:
        session.get_one(AttemptRow, attempt.id).assignment_id = "a" * 32
        session.add(
            CommentRow(
                id="d" * 32,
                attempt_id=attempt.id,
                written_by=scene.person.id,
                item_id="stays_wide",
                landmark_id=None,
                text="look once more at the lips",
                written_at=scene.clock(),
            )
        )
    return person


def in_a_class(scene: Scene, *people: Person, days: int = 60) -> None:
    """A class that was given a set; everyone left out its second photo."""
    now = scene.clock()
    with scene.store.writing() as session:
        session.add(
            ClassRow(
                id="c" * 32,
                title="Autumn group",
                made_by=scene.person.id,
                made_at=now,
                keep_until=scene.store.today() + timedelta(days=days),
                erased_at=None,
            )
        )
        session.add(SetRow(id="5" * 32, owner_id=scene.person.id, title="First look", made_at=now))
        session.flush()
        session.add(
            VersionRow(
                id="7" * 32,
                set_id="5" * 32,
                number=1,
                state="published",
                notes="",
                made_at=now,
                revision=1,
                published_at=now,
            )
        )
        session.flush()
        session.add(
            AssignmentRow(
                id="a" * 32,
                class_id="c" * 32,
                version_id="7" * 32,
                title="Week 1",
                given_by=scene.person.id,
                given_at=now,
                order_of_work="score_first",
                places_twice=False,
                hidden_repeat=False,
                key_rule="after_each",
            )
        )
        session.flush()
        for person in people:
            session.add(MemberRow(class_id="c" * 32, person_id=person.id, part="student", joined_at=now, left_at=None))
            session.add(OptOutRow(assignment_id="a" * 32, person_id=person.id, slot=2, at=now))


def test_all_of_one_s_own_is_in_the_zip(scene: Scene, student: Person) -> None:
    found = taken(scene, student)
    assert found["person"] == {"handle": student.handle, "since": "2030-03-04T12:00:00+00:00", "roles": ["student"]}
    done, still_open = sorted(found["attempts"], key=lambda one: one["handed_in_at"] is None)
    assert done["answers"]["1"]["answers"]["stays_wide"]["answer"] == "seen"
    assert done["points"]["1"]["landmarks"]["mouth_corner"]["x"] == POINTS.points["mouth_corner"].x
    assert done["measures"] == MEASURES
    assert [(one["text"], one["sign"]) for one in done["comments"]] == [("look once more at the lips", "stays_wide")]
    assert still_open["handed_in_at"] is None
    assert [one["sigma_percent"] for one in found["own_spread"]] == [1.25]
    assert [(one["title"], one["part"]) for one in found["classes"]] == [("Autumn group", "student")]
    assert [one["place"] for one in found["left_out"]] == [2]
    assert [one["title"] for one in found["photos"]] == ["my own doll"]
    assert [one["shown"] for one in found["consents"]] == ["pair 3"]


def test_nothing_of_others_no_key_and_no_picture_is_in_the_zip(scene: Scene, student: Person) -> None:
    other = add(scene.store, scene.person, consent_of(scene.clock), title="somebody else's", shade=30)
    half_done(scene.store, scene.person, other)
    [own] = list_photos(scene.store, student)
    with scene.store.writing() as session:
        session.get_one(PersonRow, scene.person.id)
    set_key(scene.store, scene.person, other.id, KEY, KEY_POINTS)
    packed = export_own_data(scene.store, student)
    with zipfile.ZipFile(BytesIO(packed)) as zipped:
        everything = b"".join(zipped.read(name) for name in zipped.namelist())
    assert own.id.encode() in everything
    for trace in (b"somebody else's", other.id.encode(), scene.person.id.encode(), b"333.0625", b"stand far apart"):
        assert trace not in everything
    assert clean_jpeg()[-60:] not in packed + everything


def test_what_is_erased_is_gone_from_lists_disk_and_class(scene: Scene, student: Person) -> None:
    [photo] = list_photos(scene.store, student)
    erase_own_data(scene.store, student)
    with scene.store.reading() as session:
        row = session.get_one(PersonRow, student.id)
        assert row.erased_at == scene.clock()
        assert row.handle.startswith("erased ")
        for table in (AttemptRow, MemberRow, OptOutRow):
            assert session.scalars(select(table).where(table.person_id == student.id)).all() == []
        assert session.get(CommentRow, "d" * 32) is None
    assert scene.photo_names == set()
    assert student.handle.encode() not in scene.all_bytes()
    assert photo.title.encode() not in scene.all_bytes()
    assert roles_of(scene.store, student.id) == frozenset()
    with pytest.raises(NotAllowed):
        history(scene.store, student)
    assert check_chain(scene.store).broken_at is None
    assert verify(scene.store).faults == ()


def test_an_erased_person_stays_erased_in_an_older_copy_of_the_records(scene: Scene, student: Person) -> None:
    journal = scene.store.journal
    journal.append(
        at=scene.clock(),
        kind="person_erased",
        object_id=student.id,
        audit_number=0,
        audit_sha256="",  # type: ignore[arg-type]
    )
    again = Store.open(scene.folder, now=scene.clock)
    assert roles_of(again, student.id) == frozenset()
    assert scene.photo_names == set()
    again.close()


def test_whoever_works_alone_may_erase_everything_and_begins_anew(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    half_done(scene.store, scene.person, photo)
    record_own_sigma(scene.store, scene.person, sigma_percent=1.0, n_points=4)
    erase_own_data(scene.store, scene.person)
    fresh = local_person(scene.store)
    assert fresh.id != scene.person.id
    assert fresh.roles == frozenset(Role)
    assert own_sigma_for(scene.store, fresh) is None
    assert list_photos(scene.store, fresh) == ()


def test_the_only_educator_of_a_school_gives_the_role_on_first(scene: Scene, student: Person) -> None:
    educator = someone_else(scene.store, Role.EDUCATOR)

    def account(person: Person) -> AccountRow:
        return AccountRow(
            person_id=person.id, password_hash="x", must_change=False, set_at=scene.clock(), closed_at=None
        )

    with scene.store.writing() as session:
        session.add_all([account(educator), account(student)])
    with pytest.raises(NotAllowed, match="only educator") as caught:
        erase_own_data(scene.store, educator)
    assert is_one_sentence(caught.value)
    second = someone_else(scene.store, Role.EDUCATOR)
    with scene.store.writing() as session:
        session.add(account(second))
    erase_own_data(scene.store, educator)
    assert roles_of(scene.store, educator.id) == frozenset()


def test_class_work_is_erased_after_its_last_day_and_not_on_it(scene: Scene, student: Person) -> None:
    [told] = kept_until(scene.store, student)
    assert (told.title, told.keep_until) == ("Autumn group", scene.store.today() + timedelta(days=60))
    scene.clock.turn(days=60)
    assert erase_due_classes(scene.store) == 0
    assert len(history(scene.store, student)) == 1
    for days in (1, 1, 5):
        scene.clock.turn(days=days)
        assert erase_due_classes(scene.store) == 0
        assert len(history(scene.store, student)) == 1
    scene.clock.turn(days=1)
    assert erase_due_classes(scene.store) == 1
    assert erase_due_classes(scene.store) == 0
    assert history(scene.store, student) == ()
    assert kept_until(scene.store, student) == ()
    with scene.store.reading() as session:
        assert session.scalars(select(OptOutRow)).all() == []
        assert session.scalars(select(MemberRow)).all() == []
        assert session.get_one(ClassRow, "c" * 32).erased_at == scene.clock()
    # What was practised alone is no class work.
    assert len(taken(scene, student)["attempts"]) == 1
    assert verify(scene.store).faults == ()


def test_opening_a_store_erases_class_work_that_is_due(scene: Scene, student: Person) -> None:
    for days in (90, 1, 5):
        scene.clock.turn(days=days)
        Store.open(scene.folder, now=scene.clock).close()
        assert len(history(scene.store, student)) == 1
    scene.clock.turn(days=1)
    again = Store.open(scene.folder, now=scene.clock)
    assert history(again, student) == ()
    assert [entry.kind for entry in again.journal.entries()] == ["class_erased"]
    again.close()


def test_what_is_due_daily_is_done_once_a_day_and_notes_how_far_the_log_reaches(scene: Scene, student: Person) -> None:
    for days in (61, 1, 7):
        scene.clock.turn(days=days)
        assert len(history(scene.store, student)) == 1
        daily(scene.store)
    assert history(scene.store, student) == ()
    noted = len(scene.store.journal.entries())
    assert [entry.kind for entry in scene.store.journal.entries()][-2:] == ["class_erased", "log_seen"]
    export_own_data(scene.store, student)
    daily(scene.store)
    assert len(scene.store.journal.entries()) == noted
    scene.clock.turn(days=1)
    daily(scene.store)
    daily(scene.store)
    assert [entry.kind for entry in scene.store.journal.entries()][noted:] == ["log_seen"]
