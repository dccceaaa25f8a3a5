"""The journal outlives every copy of the records: what it says is gone goes again, and a changed line is told."""

import json
import shutil
from pathlib import Path

import pytest
from records_scene import MEASURES, Scene, add, consent_of, consent_on_record, half_done, is_one_sentence, make_scene
from sqlalchemy import text

from records.attempt.handing_in import hand_in, history
from records.consent.journal import JOURNAL_VARIABLE, Journal, Kind, journal_folder
from records.consent.withdrawal import remove_photo, withdraw
from records.errors import StorageFault
from records.photo.photos import PhotoRecord, list_photos, read_bytes
from records.safekeeping.verifying import verify
from records.storage.disk import LocalDisk
from records.store import Store


@pytest.fixture
def photo(scene: Scene) -> PhotoRecord:
    """A photo of people with an attempt that was handed in."""
    made = add(scene.store, scene.person, consent_of(scene.clock))
    attempt = half_done(scene.store, scene.person, made)
    hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="1")
    return made


def again(scene: Scene) -> Store:
    return Store.open(scene.folder, now=scene.clock)


def noted(store: Store) -> list[tuple[str, str | None]]:
    return [(entry.kind.value, entry.object_id) for entry in store.journal.entries()]


def test_a_withdrawal_is_noted_with_ids_only_in_a_folder_beside_the_data_folder(
    scene: Scene, photo: PhotoRecord
) -> None:
    withdraw(scene.store, scene.person, photo.consent_id)
    folder = scene.folder.parent / "data-journal"
    assert scene.store.journal.folder == folder
    assert noted(scene.store) == [("withdrawn", photo.consent_id)]
    assert folder.stat().st_mode & 0o077 == 0
    assert (folder / "journal.jsonl").stat().st_mode & 0o077 == 0
    said = json.loads((folder / "journal.jsonl").read_text())
    assert set(said) == {
        "number",
        "at",
        "kind",
        "object_id",
        "audit_number",
        "audit_sha256",
        "previous_sha256",
        "sha256",
    }


def test_the_environment_names_another_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(JOURNAL_VARIABLE, str(tmp_path / "elsewhere"))
    assert journal_folder(tmp_path / "data") == tmp_path / "elsewhere"
    scene = make_scene(tmp_path / "data")
    withdraw(scene.store, scene.person, add(scene.store, scene.person, consent_of(scene.clock)).consent_id)
    scene.store.close()
    assert (tmp_path / "elsewhere" / "journal.jsonl").is_file()
    assert not (tmp_path / "data-journal").exists()


def test_a_withdrawal_that_was_noted_and_not_committed_is_completed_by_the_next_opening(
    scene: Scene, photo: PhotoRecord
) -> None:
    """The state that a killed process leaves between its line in the journal and the commit of the records."""
    scene.store.journal.append(
        at=scene.clock(), kind=Kind.WITHDRAWN, object_id=photo.consent_id, audit_number=0, audit_sha256=""
    )
    scene.clock.turn(days=2)
    later = again(scene)
    assert list_photos(later, scene.person) == ()
    assert scene.photo_names == set()
    [done] = history(later, scene.person)
    assert (done.landmarks, done.measures) == ({}, MEASURES)
    withdrawn_on = consent_on_record(later, scene.person, photo.consent_id).withdrawn_on
    assert withdrawn_on is not None
    assert (later.today() - withdrawn_on).days == 2
    later.close()


def test_an_older_copy_of_the_data_folder_loses_the_withdrawn_and_removed_photos_again(
    sqlite_scene: Scene, tmp_path: Path
) -> None:
    scene = sqlite_scene
    withdrawn = add(scene.store, scene.person, consent_of(scene.clock))
    removed = add(scene.store, scene.person, consent_of(scene.clock), shade=30)
    stays = add(scene.store, scene.person, consent_of(scene.clock), shade=200)
    scene.store.close()
    shutil.copytree(scene.folder, tmp_path / "copy")
    store = again(scene)
    withdraw(store, scene.person, withdrawn.consent_id)
    remove_photo(store, scene.person, removed.id)
    store.close()
    shutil.rmtree(scene.folder)
    (tmp_path / "copy").rename(scene.folder)
    back = again(scene)
    assert [photo.id for photo in list_photos(back, scene.person)] == [stays.id]
    assert len(scene.photo_names) == 2
    assert read_bytes(back, scene.person, stays.id)
    back.close()


def test_the_same_picture_under_a_new_consent_is_not_taken_by_an_old_line_of_the_journal(
    scene: Scene, photo: PhotoRecord
) -> None:
    withdraw(scene.store, scene.person, photo.consent_id)
    new = add(scene.store, scene.person, consent_of(scene.clock))
    later = again(scene)
    assert [found.id for found in list_photos(later, scene.person)] == [new.id]
    later.close()


def test_a_line_that_a_crash_cut_off_is_dropped_and_the_next_one_follows_the_last_whole_one(
    scene: Scene, photo: PhotoRecord
) -> None:
    withdraw(scene.store, scene.person, photo.consent_id)
    file = scene.store.journal.file
    whole = file.read_bytes()
    file.write_bytes(whole + b'{"number": 2, "kind": "withdr')
    assert len(scene.store.journal.entries()) == 1
    second = add(scene.store, scene.person, consent_of(scene.clock), shade=30)
    withdraw(scene.store, scene.person, second.consent_id)
    assert scene.store.journal.check().broken_at is None
    assert [object_id for _, object_id in noted(scene.store)] == [photo.consent_id, second.consent_id]


@pytest.mark.parametrize(
    ("change", "broken_at"),
    [
        (lambda lines: [lines[0], lines[1].replace(b'"withdrawn"', b'"log_seen"'), lines[2]], 2),
        (lambda lines: [lines[0], lines[2]], 2),
        (lambda lines: [lines[1], lines[2]], 1),
        (lambda lines: [lines[0], b"not a line of ours\n", lines[2]], 2),
        (lambda lines: [lines[0], lines[1], lines[1], lines[2]], 3),
    ],
)
def test_a_changed_missing_or_repeated_line_breaks_the_chain_there(tmp_path: Path, change, broken_at: int) -> None:
    scene = make_scene(tmp_path / "data")
    for shade in (10, 20, 30):
        photo = add(scene.store, scene.person, consent_of(scene.clock), shade=shade)
        withdraw(scene.store, scene.person, photo.consent_id)
    file = scene.store.journal.file
    assert scene.store.journal.check().n_entries == 3
    file.write_bytes(b"".join(change(file.read_bytes().splitlines(keepends=True))))
    assert scene.store.journal.check().broken_at == broken_at
    assert any("journal" in fault for fault in verify(scene.store).faults)
    scene.store.close()


def test_a_log_whose_end_was_cut_off_is_told_although_its_chain_holds(scene: Scene, photo: PhotoRecord) -> None:
    withdraw(scene.store, scene.person, photo.consent_id)
    again(scene).close()
    assert noted(scene.store)[-1] == ("log_seen", None)
    assert verify(scene.store).faults == ()
    with scene.store.writing() as session:
        session.execute(text("DELETE FROM audit_entry WHERE number = (SELECT MAX(number) FROM audit_entry)"))
    [fault] = verify(scene.store).faults
    assert "The audit log does not hold line" in fault
    again(scene).close()
    assert len(verify(scene.store).faults) == 1


def test_the_journal_notes_the_log_only_where_it_has_grown(scene: Scene, photo: PhotoRecord) -> None:
    withdraw(scene.store, scene.person, photo.consent_id)
    for _ in range(3):
        again(scene).close()
    assert [kind for kind, _ in noted(scene.store)] == ["withdrawn", "log_seen"]


def test_a_journal_that_cannot_be_written_lets_nothing_be_half_withdrawn(scene: Scene, photo: PhotoRecord) -> None:
    class FullDisk(LocalDisk):
        def append(self, path: Path) -> int:
            raise OSError(28, "No space left on device", str(path))

    full = Store.open(scene.folder, now=scene.clock, disk=FullDisk())
    with pytest.raises(StorageFault, match="nothing was changed") as caught:
        withdraw(full, scene.person, photo.consent_id)
    full.close()
    assert is_one_sentence(caught.value)
    assert read_bytes(scene.store, scene.person, photo.id)
    assert consent_on_record(scene.store, scene.person, photo.consent_id).withdrawn_on is None


def test_the_journal_s_line_is_on_the_disk_before_the_records_are_committed(scene: Scene, photo: PhotoRecord) -> None:
    seen: list[tuple[str, bool]] = []

    class WatchedDisk(LocalDisk):
        def append(self, path: Path) -> int:
            seen.append(("append", standing()))
            return super().append(path)

        def sync(self, file: int) -> None:
            super().sync(file)
            seen.append(("sync", standing()))

        def remove(self, path: Path) -> None:
            seen.append(("remove", standing()))
            super().remove(path)

    def standing() -> bool:
        return consent_on_record(scene.store, scene.person, photo.consent_id).withdrawn_on is None

    store = Store.open(scene.folder, now=scene.clock, disk=WatchedDisk())
    withdraw(store, scene.person, photo.consent_id)
    store.close()
    assert seen == [("append", True), ("sync", True), ("remove", False), ("remove", False)]


def test_a_journal_reads_back_what_was_written(tmp_path: Path) -> None:
    journal = Journal(tmp_path, LocalDisk())
    scene = make_scene(tmp_path / "data")
    first = journal.append(at=scene.clock(), kind=Kind.LOG_SEEN, object_id=None, audit_number=4, audit_sha256="a" * 64)
    second = journal.append(
        at=scene.clock(), kind=Kind.CLASS_ERASED, object_id="b" * 32, audit_number=5, audit_sha256="c" * 64
    )
    assert journal.entries() == (first, second)
    assert second.previous_sha256 == first.sha256
    scene.store.close()
