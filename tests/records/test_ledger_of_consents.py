"""The ledger: what stands in it, for whom, in which order; and the scans of forms, apart and for few eyes."""

from dataclasses import replace
from datetime import timedelta

import pytest
from records_scene import Scene, add, consent_of, is_one_sentence, someone_else

from records.consent.consents import NewConsent, Scope
from records.consent.ledger import all_consents, own_consents, put_on_record
from records.consent.scans import MAX_SCAN_BYTES, add_scan, read_scan, remove_scan
from records.consent.withdrawal import withdraw
from records.errors import InvalidRecord, NotAllowed, NotFound, StorageFault
from records.identity.people import Role
from records.models import ClassRow, MemberRow
from records.photo.photos import list_photos
from records.safekeeping.verifying import verify
from records.storage.disk import LocalDisk
from records.store import Store

PDF = b"%PDF-1.7\n a signed form"
JPEG = b"\xff\xd8\xff\xe0 a photographed form"
PNG = b"\x89PNG\r\n\x1a\n a scanned form"


def a_class(scene: Scene, *members: str) -> str:
    with scene.store.writing() as session:
        session.add(
            ClassRow(
                id="c" * 32,
                title="Autumn group",
                made_by=scene.person.id,
                made_at=scene.clock(),
                keep_until=scene.store.today() + timedelta(days=90),
                erased_at=None,
            )
        )
        session.flush()
        for person_id in members:
            session.add(
                MemberRow(class_id="c" * 32, person_id=person_id, part="student", joined_at=scene.clock(), left_at=None)
            )
    return "c" * 32


def test_a_consent_is_put_on_record_with_all_that_the_form_says(scene: Scene) -> None:
    class_id = a_class(scene, scene.person.id)
    given = consent_of(scene.clock)
    asked = NewConsent(
        shown="pair 7",
        given_by="the adult shown",
        scopes=frozenset({Scope.OWN_CLASS, Scope.PRINTED}),
        faces_covered=True,
        given_on=given.given_on,
        expires_on=given.expires_on,
        form_version="form 3",
        class_id=class_id,
        authority="the same, as parent",
    )
    made = put_on_record(scene.store, scene.person, asked)
    [line] = own_consents(scene.store, scene.person)
    assert line.consent == made
    assert (made.authority, made.class_id, made.form_version) == ("the same, as parent", class_id, "form 3")
    assert (line.class_title, line.n_photos, line.has_scan, line.mine) == ("Autumn group", 0, False, True)


def test_photos_can_be_added_under_a_consent_that_was_on_record_before(scene: Scene) -> None:
    made = put_on_record(scene.store, scene.person, consent_of(scene.clock))
    photo = add(scene.store, scene.person, made.id)
    assert photo.consent_id == made.id
    [line] = own_consents(scene.store, scene.person)
    assert line.n_photos == 1


def test_what_ends_soon_comes_first_then_what_stands_then_what_is_over_or_withdrawn(scene: Scene) -> None:
    days = {"late": 200, "soon": 29, "sooner": 3, "over": 5, "gone": 100}
    made = {
        name: put_on_record(scene.store, scene.person, consent_of(scene.clock, days=n, shown=name))
        for name, n in days.items()
        if name != "over"
    }
    made["over"] = put_on_record(scene.store, scene.person, consent_of(scene.clock, days=0, shown="over"))
    withdraw(scene.store, scene.person, made["gone"].id)
    scene.clock.turn(days=1)
    lines = own_consents(scene.store, scene.person)
    assert [line.consent.shown for line in lines][:3] == ["sooner", "soon", "late"]
    assert {line.consent.shown for line in lines[3:]} == {"over", "gone"}
    assert [line.days_left for line in lines[:3]] == [3, 29, 200]
    assert [line.stands for line in lines] == [True, True, True, False, False]
    assert [line.ends_within(30) for line in lines] == [True, True, False, False, False]
    assert [line.ends_within(3) for line in lines] == [True, False, False, False, False]


def test_the_last_day_still_counts(scene: Scene) -> None:
    put_on_record(scene.store, scene.person, consent_of(scene.clock, days=0))
    [line] = own_consents(scene.store, scene.person)
    assert (line.days_left, line.stands) == (1, True)


def test_everyone_sees_the_own_lines_and_an_educator_sees_all(scene: Scene) -> None:
    student = someone_else(scene.store, Role.STUDENT)
    mine = put_on_record(scene.store, student, consent_of(scene.clock, shown="mine"))
    other = put_on_record(scene.store, scene.person, consent_of(scene.clock, shown="other"))
    assert [line.consent.id for line in own_consents(scene.store, student)] == [mine.id]
    assert {line.consent.id for line in all_consents(scene.store, scene.person)} == {mine.id, other.id}
    assert {line.recorded_by for line in all_consents(scene.store, scene.person)} == {
        student.handle,
        scene.person.handle,
    }
    for role in (Role.STUDENT, Role.INSTRUCTOR):
        with pytest.raises(NotAllowed):
            all_consents(scene.store, someone_else(scene.store, role))


def test_a_class_is_named_only_with_its_use_and_only_one_s_own(scene: Scene) -> None:
    class_id = a_class(scene)
    given = consent_of(scene.clock)
    with pytest.raises(InvalidRecord):
        NewConsent(
            shown="pair 1",
            given_by="parent",
            scopes=frozenset({Scope.PRINTED}),
            faces_covered=True,
            given_on=given.given_on,
            expires_on=given.expires_on,
            form_version="1",
            class_id=class_id,
        )
    asked = NewConsent(
        shown="pair 1",
        given_by="parent",
        scopes=frozenset({Scope.OWN_CLASS}),
        faces_covered=True,
        given_on=given.given_on,
        expires_on=given.expires_on,
        form_version="1",
        class_id=class_id,
    )
    student = someone_else(scene.store, Role.STUDENT)
    with pytest.raises(NotAllowed):
        put_on_record(scene.store, student, asked)
    assert own_consents(scene.store, student) == ()
    assert put_on_record(scene.store, scene.person, asked).class_id == class_id


def test_a_photo_comes_in_under_a_consent_for_a_class_only_from_someone_in_that_class(scene: Scene) -> None:
    student, stranger = (someone_else(scene.store, Role.STUDENT) for _ in range(2))
    class_id = a_class(scene, student.id)
    given = consent_of(scene.clock, Scope.OWN_PRACTICE, Scope.OWN_CLASS)
    asked = replace(given, class_id=class_id)
    with pytest.raises(NotAllowed):
        add(scene.store, stranger, consent=asked)
    with pytest.raises(NotFound):
        add(scene.store, student, consent=replace(given, class_id="d" * 32))
    assert own_consents(scene.store, stranger) == ()
    assert not list((scene.folder / "photos").iterdir())
    photo = add(scene.store, student, consent=asked)
    [line] = own_consents(scene.store, student)
    assert (line.consent.id, line.consent.class_id) == (photo.consent_id, class_id)


@pytest.mark.parametrize(
    ("data", "media_type", "name"),
    [
        (PDF, "application/pdf", "consent-form.pdf"),
        (JPEG, "image/jpeg", "consent-form.jpg"),
        (PNG, "image/png", "consent-form.png"),
    ],
)
def test_a_scan_is_kept_apart_from_photos_for_this_user_only_and_read_back(
    scene: Scene, data: bytes, media_type: str, name: str
) -> None:
    consent = put_on_record(scene.store, scene.person, consent_of(scene.clock))
    assert add_scan(scene.store, scene.person, consent.id, data).media_type == media_type
    found = read_scan(scene.store, scene.person, consent.id)
    assert (found.data, found.media_type, found.file_name) == (data, media_type, name)
    [file] = (scene.folder / "consent_scans").iterdir()
    assert file.stat().st_mode & 0o077 == 0
    assert scene.photo_names == set()
    assert own_consents(scene.store, scene.person)[0].has_scan


@pytest.mark.parametrize(
    "data", [b"", b"GIF89a", b"<html>%PDF-", b"PK\x03\x04", PDF + bytes(MAX_SCAN_BYTES)], ids=lambda d: str(d[:8])
)
def test_what_is_no_scan_or_too_large_is_refused_and_nothing_is_stored(scene: Scene, data: bytes) -> None:
    consent = put_on_record(scene.store, scene.person, consent_of(scene.clock))
    with pytest.raises(InvalidRecord) as caught:
        add_scan(scene.store, scene.person, consent.id, data)
    assert is_one_sentence(caught.value)
    assert list((scene.folder / "consent_scans").iterdir()) == []


def test_a_second_scan_takes_the_place_of_the_first_and_a_removed_one_is_gone(scene: Scene) -> None:
    consent = put_on_record(scene.store, scene.person, consent_of(scene.clock))
    add_scan(scene.store, scene.person, consent.id, PDF)
    add_scan(scene.store, scene.person, consent.id, JPEG)
    assert read_scan(scene.store, scene.person, consent.id).data == JPEG
    assert len(list((scene.folder / "consent_scans").iterdir())) == 1
    assert verify(scene.store).faults == ()
    remove_scan(scene.store, scene.person, consent.id)
    assert list((scene.folder / "consent_scans").iterdir()) == []
    for gone in (read_scan, remove_scan):
        with pytest.raises(NotFound):
            gone(scene.store, scene.person, consent.id)


def test_a_scan_is_for_whoever_put_the_consent_on_record_and_for_educators(scene: Scene) -> None:
    student = someone_else(scene.store, Role.STUDENT)
    consent = put_on_record(scene.store, student, consent_of(scene.clock))
    add_scan(scene.store, student, consent.id, PDF)
    assert read_scan(scene.store, student, consent.id).data == PDF
    assert read_scan(scene.store, someone_else(scene.store, Role.EDUCATOR), consent.id).data == PDF
    for role in (Role.STUDENT, Role.INSTRUCTOR):
        other = someone_else(scene.store, role)
        for refused in (
            lambda other=other: read_scan(scene.store, other, consent.id),
            lambda other=other: remove_scan(scene.store, other, consent.id),
            lambda other=other: add_scan(scene.store, other, consent.id, PNG),
        ):
            with pytest.raises(NotAllowed) as caught:
                refused()
            assert is_one_sentence(caught.value)


def test_a_scan_that_was_changed_on_the_disk_is_not_shown(scene: Scene) -> None:
    consent = put_on_record(scene.store, scene.person, consent_of(scene.clock))
    add_scan(scene.store, scene.person, consent.id, PDF)
    [file] = (scene.folder / "consent_scans").iterdir()
    file.write_bytes(b"%PDF-1.7 another form")
    with pytest.raises(StorageFault, match="consent form"):
        read_scan(scene.store, scene.person, consent.id)
    assert len(verify(scene.store).faults) == 1


def test_a_scan_without_a_record_is_swept_when_the_store_opens(scene: Scene) -> None:
    class ForgetfulDisk(LocalDisk):
        def remove(self, path: object) -> None:
            raise PermissionError(13, "Permission denied", str(path))

    consent = put_on_record(scene.store, scene.person, consent_of(scene.clock))
    add_scan(scene.store, scene.person, consent.id, PDF)
    forgetful = Store.open(scene.folder, now=scene.clock, disk=ForgetfulDisk())
    remove_scan(forgetful, scene.person, consent.id)
    forgetful.close()
    assert len(list((scene.folder / "consent_scans").iterdir())) == 1
    again = Store.open(scene.folder, now=scene.clock)
    assert list((scene.folder / "consent_scans").iterdir()) == []
    assert list_photos(again, scene.person) == ()
    again.close()
