"""Ending the use of photos, and the samples that ship with the program."""

import hashlib

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
    consent_on_record,
    consents_on_record,
    half_done,
    is_one_sentence,
    someone_else,
)

from records.attempt.attempts import open_attempts, save_points, save_sheet, start_attempt
from records.attempt.handing_in import HandedIn, hand_in, handed_in, history
from records.attempt.own_sigma import own_sigma_for, record_own_sigma
from records.consent.consents import Kind
from records.consent.withdrawal import remove_photo, withdraw
from records.errors import ConsentWithdrawn, NotAllowed, NotFound, StorageFault
from records.key.keys import key_for, set_key
from records.photo.photos import PhotoRecord, get_photo, list_photos, read_bytes
from records.photo.samples import ensure_sample
from records.storage.disk import LocalDisk
from records.store import Store
from rubric.answers import Answer
from vision.landmarks import LandmarkSet


@pytest.fixture
def photo(scene: Scene) -> PhotoRecord:
    """A photo of people with a key."""
    made = add(scene.store, scene.person, consent_of(scene.clock), title="Pair at the window")
    set_key(scene.store, scene.person, made.id, KEY, KEY_POINTS)
    return made


@pytest.fixture
def done(scene: Scene, photo: PhotoRecord) -> HandedIn:
    """An attempt at it that was handed in."""
    attempt = half_done(scene.store, scene.person, photo)
    record_own_sigma(scene.store, scene.person, sigma_percent=1.2, n_points=6, attempt_id=attempt.id)
    return hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="1")


def test_a_withdrawal_takes_picture_points_spots_and_title_and_leaves_the_scores(
    scene: Scene, photo: PhotoRecord, done: HandedIn
) -> None:
    withdrawal = withdraw(scene.store, scene.person, photo.consent_id)
    assert withdrawal.consent.withdrawn_on == scene.store.today()
    assert (withdrawal.n_photos, withdrawal.left) == (1, ())
    [left] = history(scene.store, scene.person)
    assert (left.photo_id, left.photo_title, left.landmarks) == (None, None, {})
    assert (left.measures, left.handed_in_at) == (done.measures, done.handed_in_at)
    for round in (1, 2):
        before, after = done.sheets[round], left.sheets[round]  # type: ignore[index]
        assert {item: a.answer for item, a in after.answers.items()} == {i: a.answer for i, a in before.answers.items()}
        assert all(answer.spot is None for answer in after.answers.values())
    key = key_for(scene.store, scene.person, done.attempt_id)
    assert key.landmarks is None
    assert (key.key.answers["stays_wide"].answer, key.key.answers["stays_wide"].spot) == (Answer.SEEN, None)
    assert scene.photo_names == set()
    assert list_photos(scene.store, scene.person) == ()
    sigma = own_sigma_for(scene.store, scene.person)
    assert sigma is not None
    assert sigma.sigma_percent == pytest.approx(1.2)


def test_after_a_withdrawal_the_disk_holds_neither_bytes_nor_hashes_nor_coordinates_nor_title(
    scene: Scene, photo: PhotoRecord, done: HandedIn
) -> None:
    """Searched in all files of the data folder, SQLite's log and free pages included, and in all rows elsewhere."""
    jpeg, screen = clean_jpeg(), clean_jpeg(24, 16)
    traces = [
        jpeg[-60:],
        screen[-60:],
        hashlib.sha256(jpeg).hexdigest().encode(),
        hashlib.sha256(screen).hexdigest().encode(),
        b"101.25",
        b"20.125",
        b"333.0625",
        b"Pair at the window",
    ]
    scene.store.forget_deleted()
    assert all(trace in scene.all_bytes() for trace in traces)
    withdraw(scene.store, scene.person, photo.consent_id)
    left = scene.all_bytes()
    assert [trace for trace in traces if trace in left] == []
    assert done.attempt_id.encode() in left


def test_a_withdrawn_photo_is_refused_everywhere_and_unfinished_attempts_end(
    scene: Scene, photo: PhotoRecord, done: HandedIn
) -> None:
    attempt = half_done(scene.store, scene.person, photo)
    withdraw(scene.store, scene.person, photo.consent_id)
    assert open_attempts(scene.store, scene.person) == ()
    for refused in (
        lambda: get_photo(scene.store, scene.person, photo.id),
        lambda: read_bytes(scene.store, scene.person, photo.id, "screen"),
        lambda: start_attempt(scene.store, scene.person, photo.id),
        lambda: set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS),
        lambda: remove_photo(scene.store, scene.person, photo.id),
    ):
        with pytest.raises(ConsentWithdrawn) as caught:
            refused()
        assert is_one_sentence(caught.value)
    with pytest.raises(ConsentWithdrawn):
        add(scene.store, scene.person, photo.consent_id)
    with pytest.raises(NotFound) as gone:
        save_points(scene.store, scene.person, attempt.id, 1, POINTS, 1)
    assert is_one_sentence(gone.value)
    with pytest.raises(NotFound):
        save_sheet(scene.store, scene.person, attempt.id, 1, SHEET, 1)
    assert handed_in(scene.store, scene.person, done.attempt_id).landmarks == {}


def test_the_same_bytes_go_under_whatever_consent_they_entered(scene: Scene, photo: PhotoRecord) -> None:
    twin = add(scene.store, scene.person, consent_of(scene.clock), title="the same once more")
    other = add(scene.store, scene.person, consent_of(scene.clock), shade=200)
    withdraw(scene.store, scene.person, photo.consent_id)
    assert [found.id for found in list_photos(scene.store, scene.person)] == [other.id]
    assert len(scene.photo_names) == 2
    with pytest.raises(NotFound):
        get_photo(scene.store, scene.person, twin.id)
    assert consent_on_record(scene.store, scene.person, twin.consent_id).withdrawn_on is None


def test_a_second_withdrawal_changes_nothing(scene: Scene, photo: PhotoRecord) -> None:
    first = withdraw(scene.store, scene.person, photo.consent_id)
    scene.clock.turn(days=3)
    again = withdraw(scene.store, scene.person, photo.consent_id)
    assert (again.consent, again.n_photos) == (first.consent, 0)
    assert len(scene.store.journal.entries()) == 1


def test_removing_one_photo_leaves_its_consent_and_its_sister(scene: Scene, photo: PhotoRecord, done: HandedIn) -> None:
    sister = add(scene.store, scene.person, photo.consent_id, shade=200)
    remove_photo(scene.store, scene.person, photo.id)
    assert [found.id for found in list_photos(scene.store, scene.person)] == [sister.id]
    assert consent_on_record(scene.store, scene.person, photo.consent_id).withdrawn_on is None
    with pytest.raises(NotFound):
        read_bytes(scene.store, scene.person, photo.id)
    assert handed_in(scene.store, scene.person, done.attempt_id).photo_id is None


def test_files_that_cannot_be_deleted_are_told_and_deleted_at_the_next_opening(
    scene: Scene, photo: PhotoRecord
) -> None:
    class StubbornDisk(LocalDisk):
        def remove(self, path: object) -> None:
            raise PermissionError(13, "Permission denied", str(path))

    stubborn = Store.open(scene.folder, now=scene.clock, disk=StubbornDisk())
    with pytest.raises(StorageFault, match="no longer used, but 2 of its files") as caught:
        withdraw(stubborn, scene.person, photo.consent_id)
    stubborn.close()
    assert is_one_sentence(caught.value)
    with pytest.raises(ConsentWithdrawn):
        read_bytes(scene.store, scene.person, photo.id)
    again = Store.open(scene.folder, now=scene.clock)
    assert again.sweep.removed == 2
    assert scene.photo_names == set()
    again.close()


def sample(
    scene: Scene, *, shade: int = 50, title: str = "Doll A, side view", points: LandmarkSet = KEY_POINTS
) -> PhotoRecord:
    return ensure_sample(
        scene.store,
        sample_id="doll_a_side",
        jpeg=clean_jpeg(shade=shade),
        screen_jpeg=clean_jpeg(24, 16, shade),
        width=48,
        height=32,
        title=title,
        key=KEY,
        key_landmarks=points,
    )


def test_a_sample_is_there_for_everyone_with_its_key_hidden_and_no_consent_of_anyone(scene: Scene) -> None:
    made = sample(scene)
    assert (made.sample_id, made.kind, made.has_key, made.refusal) == ("doll_a_side", Kind.DOLL, True, None)
    own = add(scene.store, scene.person)
    assert list_photos(scene.store, scene.person) == (made, own)
    other = someone_else(scene.store)
    assert list_photos(scene.store, other) == (made,)
    assert read_bytes(scene.store, other, made.id) == clean_jpeg(shade=50)
    assert len(consents_on_record(scene.store, scene.person)) == 1
    attempt = half_done(scene.store, scene.person, made)
    hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="1")
    assert key_for(scene.store, scene.person, attempt.id).landmarks == KEY_POINTS


def test_a_sample_asked_for_again_changes_nothing(scene: Scene) -> None:
    first, names = sample(scene), scene.photo_names
    scene.clock.turn(days=1)
    assert sample(scene) == first
    assert scene.photo_names == names


def test_a_sample_works_on_a_day_before_it_was_put_on_record(scene: Scene) -> None:
    """A clock that was set back, or a journey to the west, takes no doll away."""
    made = sample(scene)
    scene.clock.turn(days=-400)
    assert read_bytes(scene.store, scene.person, made.id) == clean_jpeg(shade=50)


def test_a_new_title_or_key_reaches_a_known_sample(scene: Scene) -> None:
    first = sample(scene)
    attempt = half_done(scene.store, scene.person, first)
    hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="1")
    second = sample(scene, title="Doll A, from the side", points=POINTS)
    assert (second.id, second.title) == (first.id, "Doll A, from the side")
    key = key_for(scene.store, scene.person, attempt.id)
    assert (key.landmarks, key.revision) == (POINTS, 2)


def test_a_new_picture_of_a_sample_is_a_new_photo_and_old_attempts_keep_theirs(scene: Scene) -> None:
    old = sample(scene)
    attempt = half_done(scene.store, scene.person, old)
    new = sample(scene, shade=60)
    assert [photo.id for photo in list_photos(scene.store, scene.person)] == [new.id]
    assert [found.id for found in open_attempts(scene.store, scene.person)] == [attempt.id]
    assert read_bytes(scene.store, scene.person, old.id) == clean_jpeg(shade=50)
    assert read_bytes(scene.store, scene.person, new.id) == clean_jpeg(shade=60)


def test_a_lost_file_of_a_sample_is_written_again(scene: Scene) -> None:
    made = sample(scene)
    names = scene.photo_names
    for name in names:
        (scene.folder / "photos" / name).unlink()
    assert sample(scene) == made
    assert scene.photo_names == names
    assert read_bytes(scene.store, scene.person, made.id, "screen") == clean_jpeg(24, 16, 50)


def test_nobody_changes_or_removes_a_sample(scene: Scene) -> None:
    made = sample(scene)
    for refused in (
        lambda: set_key(scene.store, scene.person, made.id, KEY, POINTS),
        lambda: remove_photo(scene.store, scene.person, made.id),
        lambda: withdraw(scene.store, scene.person, made.consent_id),
    ):
        with pytest.raises(NotAllowed) as caught:
            refused()
        assert is_one_sentence(caught.value)
    assert read_bytes(scene.store, scene.person, made.id) == clean_jpeg(shade=50)


def test_withdrawing_an_upload_of_a_sample_leaves_the_sample(scene: Scene) -> None:
    made = sample(scene)
    upload = add(scene.store, scene.person, consent_of(scene.clock), shade=50)
    withdraw(scene.store, scene.person, upload.consent_id)
    assert list_photos(scene.store, scene.person) == (made,)
    assert read_bytes(scene.store, scene.person, made.id) == clean_jpeg(shade=50)
