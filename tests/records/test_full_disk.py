"""A small disk that really fills up: one sentence, nothing half done, and with space again everything works."""

import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from bundle_scene import a_published_set, received, sent, sqlite_scene_in, state_of
from records_scene import DOLL, MEASURES, POINTS, SHEET, Scene, add, consent_of, half_done, is_one_sentence, make_scene
from sqlalchemy import text

from records import bundles
from records import teaching_sets as sets
from records.attempt.attempts import resume, save_points, save_sheet, start_attempt
from records.attempt.handing_in import hand_in, history
from records.bundles import make_bundle
from records.consent.journal import JOURNAL_VARIABLE
from records.consent.withdrawal import withdraw
from records.errors import NoRoom, RecordsError, StorageFault
from records.photo import room
from records.photo.photos import list_photos
from records.safekeeping.backup import make_backup
from records.safekeeping.restoring import restore_backup
from records.store import PHOTOS_VARIABLE

ROOM = 3 * 2**20
#: Bytes that are left when the disk is "full": for nothing, for one page of the database's log, for one more file, ...
LEFT = (0, 4096, 8192, 16384, 40960, 81920)


class SmallDisk:
    """A disk of three megabytes, to be filled up and freed again."""

    def __init__(self, place: Path) -> None:
        self.place = place
        self._filler = place / "filler"

    def fill(self, left: int) -> None:
        with self._filler.open("wb", buffering=0) as file:
            try:
                while True:
                    file.write(bytes(4096))
            except OSError:
                file.truncate(max(file.tell() - left, 0))

    def free(self) -> None:
        self._filler.unlink()

    def strays(self) -> list[str]:
        """What lies on it that is neither the data folder nor the journal."""
        return sorted({path.name for path in self.place.iterdir()} - {"data", "journal"})


@pytest.fixture
def disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SmallDisk]:
    """A disk that may be filled to the last byte, so that it fills up in the middle of what is done."""
    monkeypatch.setattr(room, "SPARE_SHARE", -1.0)
    place = tmp_path / "small"
    place.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={ROOM}", "tmpfs", str(place)]
    if shutil.which("mount") is None or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("a disk of one's own can be mounted by root on Linux only")
    monkeypatch.setenv(JOURNAL_VARIABLE, str(place / "journal"))
    monkeypatch.delenv(PHOTOS_VARIABLE, raising=False)
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    yield SmallDisk(place)
    subprocess.run(["umount", "--lazy", str(place)], check=True)


@pytest.fixture
def here(disk: SmallDisk) -> Iterator[Scene]:
    made = make_scene(disk.place / "data")
    yield made
    made.store.close()


def is_sound(scene: Scene) -> bool:
    with scene.store.reading() as session:
        found = session.scalar(text("PRAGMA integrity_check"))
        return found == "ok" and session.execute(text("PRAGMA foreign_key_check")).all() == []


def told_at_each_fill(scene: Scene, disk: SmallDisk, act: Callable[[], object]) -> list[RecordsError]:
    """What is said with ever more room left, until it works; a try that failed left all as it was."""
    said: list[RecordsError] = []
    for left in LEFT:
        before = state_of(scene)
        disk.fill(left)
        try:
            act()
        except StorageFault as fault:
            said.append(fault)
            disk.free()
            assert state_of(scene) == before
            assert is_sound(scene)
            assert disk.strays() == []
            continue
        disk.free()
        return said
    act()
    return said


def speaks_of_space(said: list[RecordsError]) -> bool:
    """Whether something was said, and all of it in one sentence each that names the cause."""
    return bool(said) and all(
        is_one_sentence(fault) and ("full" in str(fault) or "no space left" in str(fault)) for fault in said
    )


def test_answers_and_points_are_saved_or_not_and_go_on_with_space(here: Scene, disk: SmallDisk) -> None:
    store, person = here.store, here.person
    attempt = start_attempt(store, person, add(store, person).id)
    assert speaks_of_space(told_at_each_fill(here, disk, lambda: save_sheet(store, person, attempt.id, 1, SHEET, 0)))
    assert speaks_of_space(told_at_each_fill(here, disk, lambda: save_points(store, person, attempt.id, 1, POINTS, 0)))
    found = resume(store, person, attempt.id)
    assert (found.sheet(1), found.landmarks(1)) == (SHEET, POINTS)


def test_handing_in_happens_or_not_and_goes_on_with_space(here: Scene, disk: SmallDisk) -> None:
    store, person = here.store, here.person
    attempt = half_done(store, person, add(store, person))
    said = told_at_each_fill(
        here, disk, lambda: hand_in(store, person, attempt.id, measures_json=MEASURES, measure_version="7")
    )
    assert speaks_of_space(said)
    assert [done.attempt_id for done in history(store, person)] == [attempt.id]


def test_a_photo_enters_or_not_and_enters_with_space(here: Scene, disk: SmallDisk) -> None:
    said = told_at_each_fill(here, disk, lambda: add(here.store, here.person))
    assert speaks_of_space(said)
    assert len(said) > 1, "never full after the first file was written"
    assert len(list_photos(here.store, here.person)) == 1
    assert len(here.photo_names) == 2


def test_before_a_disk_is_full_photos_are_refused_and_answers_still_saved(
    here: Scene, disk: SmallDisk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "SPARE_SHARE", 0.2)
    attempt = half_done(here.store, here.person, add(here.store, here.person))
    before = here.photo_names
    disk.fill(ROOM // 6)
    for consent in (DOLL, consent_of(here.clock)):
        with pytest.raises(NoRoom) as refused:
            add(here.store, here.person, consent)
        assert speaks_of_space([refused.value])
    assert here.photo_names == before
    hand_in(here.store, here.person, attempt.id, measures_json=MEASURES, measure_version="7")
    disk.free()
    add(here.store, here.person)


def test_a_bundle_is_taken_in_or_not_and_is_taken_in_with_space(here: Scene, disk: SmallDisk, tmp_path: Path) -> None:
    origin = sqlite_scene_in(tmp_path / "origin" / "data")
    bundle = sent(origin, a_published_set(origin).id)
    origin.store.close()
    said = told_at_each_fill(here, disk, lambda: received(here, bundle))
    assert speaks_of_space(said)
    assert len(said) > 1
    assert len(sets.list_sets(here.store, here.person)) == 1
    assert len(here.photo_names) == 6


def test_a_bundle_goes_out_or_not_and_nothing_is_written_down_of_one_that_did_not(
    here: Scene, disk: SmallDisk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bundle of many photos waits on the disk; this small one is made to."""
    monkeypatch.setattr("records.bundles.making._IN_MEMORY", 64)
    version = a_published_set(here)
    said = told_at_each_fill(here, disk, lambda: make_bundle(here.store, here.person, version.id, to_whom="Linden"))
    assert speaks_of_space(said)
    assert len(bundles.bundles_of(here.store, here.person, version.id)) == 1


def test_a_set_is_published_or_not(here: Scene, disk: SmallDisk) -> None:
    first = a_published_set(here)
    draft = sets.new_draft(here.store, here.person, first.set_id)
    said = told_at_each_fill(
        here,
        disk,
        lambda: sets.publish(
            here.store, here.person, draft.id, expected_revision=draft.revision, checklist_version="2026-11"
        ),
    )
    assert speaks_of_space(said)
    assert sets.seal_holds(here.store, here.person, draft.id)


def test_a_backup_is_whole_or_not_there(here: Scene, disk: SmallDisk) -> None:
    a_published_set(here)
    said: list[RecordsError] = []
    for left in (*LEFT, 163840, 655360):
        disk.fill(left)
        try:
            made = make_backup(here.store, disk.place / "backup.zip")
        except StorageFault as fault:
            said.append(fault)
            assert disk.strays() == ["filler"]
            disk.free()
            continue
        disk.free()
        break
    assert len(said) > 1
    assert speaks_of_space(said)
    assert (made.n_photos, made.left_out) == (4, ())


def test_a_restore_is_whole_or_not_there(disk: SmallDisk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(JOURNAL_VARIABLE, str(tmp_path / "journal"))
    origin = sqlite_scene_in(tmp_path / "origin" / "data")
    a_published_set(origin)
    backup = make_backup(origin.store, tmp_path / "backup.zip").path
    origin.store.close()
    said: list[RecordsError] = []
    for left in (*LEFT, 163840, 327680):
        disk.fill(left)
        with pytest.raises(StorageFault) as caught:
            restore_backup(backup, disk.place / "data")
        said.append(caught.value)
        if not any((disk.place / "data").glob("*")):
            assert disk.strays() == ["filler"]
        disk.free()
        shutil.rmtree(disk.place / "data", ignore_errors=True)
    assert speaks_of_space(said)
    assert restore_backup(backup, disk.place / "data").n_photos == 4


def test_a_withdrawal_on_a_full_disk_is_told_and_done_with_space(here: Scene, disk: SmallDisk) -> None:
    photo = add(here.store, here.person, consent_of(here.clock))
    said: list[RecordsError] = []
    for left in LEFT:
        disk.fill(left)
        try:
            withdraw(here.store, here.person, photo.consent_id)
        except RecordsError as fault:
            said.append(fault)
            disk.free()
            assert is_sound(here)
            continue
        disk.free()
        break
    assert speaks_of_space(said)
    assert list_photos(here.store, here.person) == ()
    assert here.photo_names == set()


def test_a_store_on_a_full_disk_is_told_in_one_sentence_and_opens_with_space(here: Scene, disk: SmallDisk) -> None:
    photo = add(here.store, here.person)
    here.store.close()
    disk.fill(0)
    with pytest.raises(StorageFault) as caught:
        make_scene(here.folder)
    assert is_one_sentence(caught.value)
    assert "space" in str(caught.value)
    disk.free()
    again = make_scene(here.folder)
    assert list_photos(again.store, again.person) == (photo,)
    again.store.close()


def test_a_first_start_on_a_full_disk_is_told_in_one_sentence_and_opens_with_space(disk: SmallDisk) -> None:
    (disk.place / "data").mkdir()
    disk.fill(0)
    with pytest.raises(StorageFault) as caught:
        make_scene(disk.place / "data")
    assert is_one_sentence(caught.value)
    disk.free()
    made = make_scene(disk.place / "data")
    assert list_photos(made.store, made.person) == ()
    made.store.close()
