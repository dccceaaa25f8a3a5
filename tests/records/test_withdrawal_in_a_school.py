"""A withdrawal where a photo was in sets, was read by experts, left in a bundle, came in again, and others worked on it."""

import hashlib
from dataclasses import replace
from typing import Any

import pytest
from records_scene import (
    KEY,
    KEY_POINTS,
    MEASURES,
    POINTS,
    SHEET,
    Scene,
    add,
    clean_jpeg,
    consent_of,
    is_one_sentence,
    someone_else,
)
from sqlalchemy import text

from records.attempt.attempts import save_points, save_sheet, start_attempt
from records.attempt.handing_in import hand_in, history
from records.auditing.audit import last_entries
from records.consent.consents import Scope
from records.consent.ledger import put_on_record, withdraw_any, would_leave
from records.consent.scans import add_scan, read_scan
from records.consent.withdrawal import withdraw
from records.errors import ConsentWithdrawn, NotAllowed, NotFound
from records.identity.people import Person, Role
from records.key.keys import set_key
from records.models import BundleRow, CommentRow, ExpertKeyRow, PhotoRow, SetPhotoRow, SetRow, VersionRow
from records.photo.photos import PhotoRecord, get_photo, list_photos, read_bytes
from records.safekeeping.verifying import verify
from records.storage.stored_json import stored_key, stored_landmarks

SCOPES = (Scope.OWN_PRACTICE, Scope.TEACHING_SETS, Scope.PRINTED)
OTHER_POINTS = replace(KEY_POINTS, points={"mouth_corner": replace(KEY_POINTS.points["mouth_corner"], x=555.0625)})


@pytest.fixture
def photo(scene: Scene) -> PhotoRecord:
    """A photo of people with a key, an expert's key, what a detector proposed, and a hash of its look."""
    made = add(scene.store, scene.person, consent_of(scene.clock, *SCOPES), title="Pair at the window")
    set_key(scene.store, scene.person, made.id, KEY, KEY_POINTS)
    with scene.store.writing() as session:
        row = session.get_one(PhotoRow, made.id)
        row.look_hash, row.proposed_at = "f0e1d2c3b4a59687", scene.clock()
        row.proposed_landmarks = stored_landmarks(OTHER_POINTS)
        session.add(
            ExpertKeyRow(
                photo_id=made.id,
                expert_id=scene.person.id,
                answers=stored_key(KEY),
                landmarks=stored_landmarks(OTHER_POINTS),
                revision=1,
                set_at=scene.clock(),
            )
        )
    return made


def in_a_set(scene: Scene, state: str, number: int, *photos: PhotoRecord) -> str:
    """A version with these photos and frozen keys; returns its id."""
    version_id = f"{number:032x}"
    with scene.store.writing() as session:
        if session.get(SetRow, "5" * 32) is None:
            session.add(SetRow(id="5" * 32, owner_id=scene.person.id, title="First look", made_at=scene.clock()))
            session.flush()
        session.add(
            VersionRow(
                id=version_id,
                set_id="5" * 32,
                number=number,
                state=state,
                notes="",
                made_at=scene.clock(),
                revision=1,
                published_at=None if state == "draft" else scene.clock(),
            )
        )
        session.flush()
        for position, one in enumerate(photos, start=1):
            session.add(
                SetPhotoRow(
                    version_id=version_id,
                    photo_id=one.id,
                    position=position,
                    difficulty=2,
                    note="look at the window side",
                    answers=None if state == "draft" else stored_key(KEY),
                    landmarks=None if state == "draft" else stored_landmarks(KEY_POINTS),
                )
            )
    return version_id


def bundle(scene: Scene, version_id: str, *photo_ids: str, to_whom: str = "Linden Room") -> str:
    with scene.store.writing() as session:
        row = BundleRow(
            id=hashlib.md5(to_whom.encode(), usedforsecurity=False).hexdigest(),
            version_id=version_id,
            made_by=scene.person.id,
            made_at=scene.clock(),
            to_whom=to_whom,
            sha256="a" * 64,
            file_name=None,
            photo_ids=list(photo_ids),
        )
        session.add(row)
        return row.id


def places(scene: Scene, version_id: str) -> list[Any]:
    with scene.store.reading() as session:
        return list(
            session.execute(
                text(
                    "SELECT photo_id, position, removed_at IS NOT NULL AS gone, note, landmarks FROM set_photo"
                    " WHERE version_id = :id ORDER BY position"
                ),
                {"id": version_id},
            )
        )


def student_hands_in(scene: Scene, student: Person, photo: PhotoRecord) -> str:
    attempt = start_attempt(scene.store, student, photo.id)
    save_sheet(scene.store, student, attempt.id, 1, SHEET, 0)
    save_points(scene.store, student, attempt.id, 1, POINTS, 0)
    hand_in(scene.store, student, attempt.id, measures_json=MEASURES, measure_version="1")
    return attempt.id


def test_a_published_version_keeps_a_mark_and_a_draft_closes_the_gap(scene: Scene, photo: PhotoRecord) -> None:
    other = add(scene.store, scene.person, consent_of(scene.clock, *SCOPES), shade=30)
    published = in_a_set(scene, "published", 1, photo, other)
    draft = in_a_set(scene, "draft", 2, photo, other)
    withdraw(scene.store, scene.person, photo.consent_id)
    [mark, stays] = places(scene, published)
    assert (mark.photo_id, mark.position, bool(mark.gone), mark.note, mark.landmarks) == (photo.id, 1, True, "", None)
    assert (stays.photo_id, stays.position, bool(stays.gone)) == (other.id, 2, False)
    [left] = places(scene, draft)
    assert (left.photo_id, left.position) == (other.id, 1)
    with scene.store.reading() as session:
        assert session.get_one(VersionRow, draft).revision == 2
        frozen = session.get_one(SetPhotoRow, (published, photo.id)).answers
    assert frozen is not None
    assert frozen["answers"]["stays_wide"]["answer"] == "seen"
    assert "0.3" not in str(frozen)
    assert verify(scene.store).faults == ()


def test_others_who_worked_on_it_keep_their_answers_and_what_was_said_to_them(scene: Scene, photo: PhotoRecord) -> None:
    in_a_set(scene, "published", 1, photo)
    teacher = someone_else(scene.store, Role.INSTRUCTOR)
    attempt_id = student_hands_in(scene, teacher, photo)
    with scene.store.writing() as session:
        session.add(
            CommentRow(
                id="c" * 32,
                attempt_id=attempt_id,
                written_by=scene.person.id,
                item_id=None,
                landmark_id="chin",
                text="the chin lies further forward",
                written_at=scene.clock(),
            )
        )
    withdraw(scene.store, scene.person, photo.consent_id)
    [done] = history(scene.store, teacher)
    assert (done.photo_id, done.landmarks, done.measures) == (None, {}, MEASURES)
    assert done.sheets[1].answers["stays_wide"].spot is None
    with scene.store.reading() as session:
        assert session.get_one(CommentRow, "c" * 32).text == "the chin lies further forward"
    with pytest.raises((ConsentWithdrawn, NotAllowed)):
        read_bytes(scene.store, teacher, photo.id)


def test_bundles_that_left_are_listed_with_whom_they_went_to_newest_first(scene: Scene, photo: PhotoRecord) -> None:
    second = add(scene.store, scene.person, photo.consent_id, shade=30)
    other = add(scene.store, scene.person, consent_of(scene.clock, *SCOPES), shade=60)
    version = in_a_set(scene, "published", 1, photo, second, other)
    old = bundle(scene, version, photo.id, other.id, to_whom="Linden Room")
    scene.clock.turn(days=1)
    new = bundle(scene, version, photo.id, second.id, other.id, to_whom="Hollowmere, second campus")
    bundle(scene, version, other.id, to_whom="Someone else")
    before = would_leave(scene.store, scene.person, photo.consent_id)
    done = withdraw(scene.store, scene.person, photo.consent_id)
    assert done.n_photos == 2
    assert [(left.bundle_id, left.to_whom, left.n_photos) for left in done.left] == [
        (new, "Hollowmere, second campus", 2),
        (old, "Linden Room", 1),
    ]
    assert before == done.left
    assert withdraw(scene.store, scene.person, photo.consent_id).left == done.left


def test_a_photo_that_came_in_again_from_a_bundle_goes_too_and_so_does_the_one_it_came_from(scene: Scene) -> None:
    """Another machine may have saved it anew, so its bytes differ; what it came from does not."""
    mine = add(scene.store, scene.person, consent_of(scene.clock, *SCOPES))
    other = someone_else(scene.store)
    came_back = add(scene.store, other, consent_of(scene.clock, *SCOPES), shade=91)
    twin = add(scene.store, other, consent_of(scene.clock, *SCOPES), shade=92)
    bystander = add(scene.store, other, consent_of(scene.clock, *SCOPES), shade=93)
    with scene.store.writing() as session:
        for photo in (came_back, twin):
            session.get_one(PhotoRow, photo.id).origin_id = mine.id
    done = withdraw(scene.store, other, came_back.consent_id)
    assert done.n_photos == 3
    assert list_photos(scene.store, scene.person) == ()
    assert [photo.id for photo in list_photos(scene.store, other)] == [bystander.id]
    assert len(scene.photo_names) == 2


def test_after_a_withdrawal_nothing_holds_bytes_hashes_coordinates_notes_or_title(
    scene: Scene, photo: PhotoRecord
) -> None:
    """Every file of the data folder is searched (database, its log, photos, scans), every row, and the journal."""
    version = in_a_set(scene, "published", 1, photo)
    bundle(scene, version, photo.id)
    teacher = someone_else(scene.store, Role.INSTRUCTOR)
    student_hands_in(scene, teacher, photo)
    jpeg, screen = clean_jpeg(), clean_jpeg(24, 16)
    traces = [
        jpeg[-60:],
        screen[-60:],
        *(hashlib.sha256(data).hexdigest().encode() for data in (jpeg, screen)),
        b"f0e1d2c3b4a59687",
        b"101.25",
        b"333.0625",
        b"555.0625",
        b"look at the window side",
        b"Pair at the window",
    ]
    scene.store.forget_deleted()
    assert [trace for trace in traces if trace not in scene.all_bytes()] == []
    withdraw(scene.store, scene.person, photo.consent_id)
    left = scene.all_bytes() + scene.store.journal.file.read_bytes()
    assert [trace for trace in traces if trace in left] == []
    assert photo.consent_id.encode() in left


def test_the_log_names_the_consent_and_each_photo_that_went(scene: Scene, photo: PhotoRecord) -> None:
    twin = add(scene.store, scene.person, consent_of(scene.clock), title="the same once more")
    withdraw(scene.store, scene.person, photo.consent_id)
    with scene.store.reading() as session:
        said = [(entry.action, entry.object_id) for entry in last_entries(session, 3)]
    assert said[2] == ("withdraw", photo.consent_id)
    assert set(said[:2]) == {("photo_withdrawn", photo.id), ("photo_withdrawn", twin.id)}


def test_the_scan_of_the_form_stays_as_proof_until_it_is_removed(scene: Scene, photo: PhotoRecord) -> None:
    add_scan(scene.store, scene.person, photo.consent_id, b"%PDF-1.7 a signed form")
    withdraw(scene.store, scene.person, photo.consent_id)
    assert read_scan(scene.store, scene.person, photo.consent_id).data == b"%PDF-1.7 a signed form"


def test_an_educator_withdraws_what_someone_else_put_on_record_and_others_do_not(scene: Scene) -> None:
    student = someone_else(scene.store, Role.STUDENT)
    photo = add(scene.store, student, consent_of(scene.clock))
    instructor = someone_else(scene.store, Role.INSTRUCTOR)
    for refused in (
        lambda: withdraw_any(scene.store, instructor, photo.consent_id),
        lambda: withdraw_any(scene.store, student, photo.consent_id),
        lambda: withdraw(scene.store, scene.person, photo.consent_id),
        lambda: would_leave(scene.store, instructor, photo.consent_id),
    ):
        with pytest.raises(NotAllowed) as caught:
            refused()
        assert is_one_sentence(caught.value)
    assert get_photo(scene.store, student, photo.id)
    done = withdraw_any(scene.store, someone_else(scene.store, Role.EDUCATOR), photo.consent_id)
    assert done.n_photos == 1
    assert list_photos(scene.store, student) == ()
    with pytest.raises(NotFound):
        withdraw_any(scene.store, scene.person, "0" * 32)


def test_a_consent_without_photos_is_withdrawn_too(scene: Scene) -> None:
    record = put_on_record(scene.store, scene.person, consent_of(scene.clock))
    done = withdraw(scene.store, scene.person, record.id)
    assert (done.n_photos, done.left, done.consent.withdrawn_on) == (0, (), scene.store.today())
    assert [entry.object_id for entry in scene.store.journal.entries()] == [record.id]
