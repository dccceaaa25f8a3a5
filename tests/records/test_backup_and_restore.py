"""A backup gives back what was there, without what was withdrawn since; a damaged one is refused and changes nothing."""

import json
import shutil
import sqlite3
import threading
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from secrets import token_hex

import pytest
from records_scene import (
    KEY,
    KEY_POINTS,
    MEASURES,
    Scene,
    add,
    clean_jpeg,
    consent_of,
    consents_on_record,
    half_done,
    is_one_sentence,
    make_scene,
)
from sqlalchemy import make_url, text

from records.__main__ import main
from records.attempt.attempts import open_attempts
from records.attempt.handing_in import hand_in, history
from records.consent.journal import JOURNAL_VARIABLE, Kind
from records.consent.scans import add_scan, read_scan
from records.consent.withdrawal import withdraw
from records.errors import BackupRefused, InvalidRecord, StorageFault
from records.key.keys import set_key
from records.models import SessionRow
from records.photo.photos import list_photos, read_bytes
from records.safekeeping.backup import make_backup
from records.safekeeping.restoring import restore_backup
from records.safekeeping.verifying import verify
from records.storage.disk import LocalDisk
from records.store import DATABASE_VARIABLE, FOLDER_VARIABLE, PHOTOS_VARIABLE, Store

PDF = b"%PDF-1.7\n a signed form"


@pytest.fixture
def filled(scene: Scene) -> Scene:
    """A photo of people with key, scan, an attempt handed in and one open, and a doll."""
    photo = add(scene.store, scene.person, consent_of(scene.clock))
    set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS)
    add_scan(scene.store, scene.person, photo.consent_id, PDF)
    done, _ = (half_done(scene.store, scene.person, photo) for _ in range(2))
    hand_in(scene.store, scene.person, done.id, measures_json=MEASURES, measure_version="1")
    add(scene.store, scene.person, shade=30)
    with scene.store.writing() as session:
        now = scene.clock()
        session.add(
            SessionRow(token_sha256="e" * 64, person_id=scene.person.id, started_at=now, seen_at=now, ends_at=now)
        )
    return scene


@pytest.fixture
def another_place(
    scene: Scene, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[[], Path]]:
    """Gives a new empty place to restore to (folder, and database where the records are in PostgreSQL), same journal."""
    monkeypatch.setenv(JOURNAL_VARIABLE, str(scene.store.journal.folder))
    made: list[str] = []

    def place() -> Path:
        if scene.store.engine.dialect.name == "postgresql":
            server = request.getfixturevalue("postgres")
            made.append(server.new_database())
            monkeypatch.setenv(DATABASE_VARIABLE, server.url(made[-1]))
        return scene.folder.parent / f"restored {len(list(scene.folder.parent.glob('restored*')))}"

    yield place
    for name in made:
        request.getfixturevalue("postgres").drop(name)


def shown(store: Store, scene: Scene) -> object:
    photos = list_photos(store, scene.person)
    return (
        photos,
        [read_bytes(store, scene.person, photo.id, kind) for photo in photos for kind in ("full", "screen")],
        history(store, scene.person),
        open_attempts(store, scene.person),
        consents_on_record(store, scene.person),
    )


def backup_of(scene: Scene) -> Path:
    return make_backup(scene.store, scene.folder.parent / "backup.zip").path


def test_a_restored_backup_is_what_was_there(filled: Scene, another_place: Callable[[], Path]) -> None:
    before = shown(filled.store, filled)
    [with_scan] = [c.id for c in consents_on_record(filled.store, filled.person) if c.kind == "person"]
    made = make_backup(filled.store, filled.folder.parent / "backup.zip")
    assert (made.n_photos, made.n_scans, made.left_out) == (2, 1, ())
    assert made.path.stat().st_mode & 0o077 == 0
    done = restore_backup(made.path, another_place(), now=filled.clock)
    assert (done.n_photos, done.n_withdrawn_again, done.missing) == (2, 0, ())
    back = Store.open(done.folder, now=filled.clock)
    assert shown(back, filled) == before
    assert read_scan(back, filled.person, with_scan).data == PDF
    assert verify(back).faults == ()
    with back.reading() as session:
        assert session.get(SessionRow, "e" * 64) is None
    back.close()


def test_what_was_withdrawn_since_the_backup_does_not_come_back(
    filled: Scene, another_place: Callable[[], Path]
) -> None:
    [person_photo] = [photo for photo in list_photos(filled.store, filled.person) if photo.kind == "person"]
    source = backup_of(filled)
    withdraw(filled.store, filled.person, person_photo.consent_id)
    done = restore_backup(source, another_place(), now=filled.clock)
    assert (done.n_photos, done.n_withdrawn_again) == (1, 1)
    back = Store.open(done.folder, now=filled.clock)
    assert person_photo.id not in [photo.id for photo in list_photos(back, filled.person)]
    assert len(list((done.folder / "photos").iterdir())) == 2
    [handed] = history(back, filled.person)
    assert (handed.photo_id, handed.measures) == (None, MEASURES)
    files = b"".join(path.read_bytes() for path in done.folder.rglob("*") if path.is_file())
    assert clean_jpeg()[-60:] not in files
    assert verify(back).faults == ()
    back.close()


def test_the_journal_is_not_in_the_backup_and_remembers_the_restore(
    filled: Scene, another_place: Callable[[], Path]
) -> None:
    withdraw(filled.store, filled.person, list_photos(filled.store, filled.person)[0].consent_id)
    source = backup_of(filled)
    with zipfile.ZipFile(source) as packed:
        assert not any("journal" in name for name in packed.namelist())
    restore_backup(source, another_place(), now=filled.clock)
    assert filled.store.journal.entries()[-1].kind == Kind.RESTORED
    assert filled.store.journal.check().broken_at is None


def test_without_the_journal_nothing_is_restored_unless_it_is_said_to_be_lost(
    filled: Scene, another_place: Callable[[], Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    withdraw(filled.store, filled.person, list_photos(filled.store, filled.person)[0].consent_id)
    source, place = backup_of(filled), another_place()
    monkeypatch.setenv(JOURNAL_VARIABLE, str(tmp_path / "a new machine"))
    with pytest.raises(BackupRefused, match="journal") as caught:
        restore_backup(source, place, now=filled.clock)
    assert is_one_sentence(caught.value)
    assert not place.exists()
    assert restore_backup(source, place, without_journal=True, now=filled.clock).n_photos == 1


def test_a_place_that_is_taken_is_refused_and_left_alone(filled: Scene, another_place: Callable[[], Path]) -> None:
    source, place = backup_of(filled), another_place()
    place.mkdir()
    (place / "letter.txt").write_text("mine")
    with pytest.raises(BackupRefused, match="not empty") as caught:
        restore_backup(source, place, now=filled.clock)
    assert is_one_sentence(caught.value)
    assert [path.name for path in place.iterdir()] == ["letter.txt"]
    with pytest.raises(BackupRefused):
        restore_backup(source, filled.folder, now=filled.clock)
    assert len(list_photos(filled.store, filled.person)) == 2


def test_a_database_that_is_in_use_is_not_restored_over(filled: Scene, tmp_path: Path) -> None:
    if filled.store.engine.dialect.name == "sqlite":
        pytest.skip("SQLite's database lies in the folder")
    with pytest.raises(BackupRefused, match="database") as caught:
        restore_backup(backup_of(filled), tmp_path / "another folder", now=filled.clock)
    assert is_one_sentence(caught.value)
    assert not (tmp_path / "another folder").exists()


def test_a_backup_of_one_database_is_refused_by_the_other(
    filled: Scene, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = backup_of(filled)
    if filled.store.engine.dialect.name == "sqlite":
        monkeypatch.setenv(DATABASE_VARIABLE, "postgresql+psycopg://nobody@127.0.0.1:1/none")
    else:
        monkeypatch.delenv(DATABASE_VARIABLE)
    with pytest.raises(BackupRefused, match="PostgreSQL"):
        restore_backup(source, tmp_path / "another folder", now=filled.clock)


def rewritten(source: Path, change: Callable[[dict[str, bytes]], None]) -> None:
    """The backup with its files changed, and the zip whole again."""
    with zipfile.ZipFile(source) as packed:
        files = {name: packed.read(name) for name in packed.namelist()}
    change(files)
    with zipfile.ZipFile(source, "w") as packed:
        for name, data in files.items():
            packed.writestr(name, data)


def in_manifest(change: Callable[[dict], None]) -> Callable[[dict[str, bytes]], None]:
    def changed(files: dict[str, bytes]) -> None:
        said = json.loads(files["manifest.json"])
        change(said)
        files["manifest.json"] = json.dumps(said).encode()

    return changed


def first_photo(files: dict) -> str:
    return min(name for name in files if name.startswith("photos/"))


def path_trick(said: dict) -> None:
    said["files"]["photos/../../outside.jpg"] = said["files"].pop(first_photo(said["files"]))


def flip_a_byte(files: dict[str, bytes]) -> None:
    name = first_photo(files)
    files[name] = files[name][:-5] + bytes([files[name][-5] ^ 1]) + files[name][-4:]


DAMAGE: dict[str, Callable[[dict[str, bytes]], None]] = {
    "a photo changed by one bit": flip_a_byte,
    "a photo cut short": lambda files: files.update({first_photo(files): files[first_photo(files)][:-9]}),
    "a photo made longer": lambda files: files.update({first_photo(files): files[first_photo(files)] + b"more"}),
    "a photo missing": lambda files: files.pop(first_photo(files)) and None,
    "the records changed": lambda files: files.update(
        {name: b"SQLite format 3\x00" + bytes(500) for name in files if name.startswith("records.")}
    ),
    "a file that nobody named": lambda files: files.update({"photos/" + "a" * 32 + ".jpg": b"x"}),
    "no manifest": lambda files: files.pop("manifest.json") and None,
    "a manifest that is no JSON": lambda files: files.update({"manifest.json": b"{"}),
    "a manifest of another kind": in_manifest(lambda said: said.update(format="a cookbook")),
    "a newer format": in_manifest(lambda said: said.update(format_version=99)),
    "a newer step of the tables": in_manifest(lambda said: said.update(revision="9999")),
    "a path out of the folder": in_manifest(path_trick),
    "no records": in_manifest(
        lambda said: [said["files"].pop(name) for name in list(said["files"]) if name.startswith("records.")] and None
    ),
    "a length that is no number": in_manifest(
        lambda said: said["files"][first_photo(said["files"])].update(size="much")
    ),
    "a length below zero": in_manifest(lambda said: said["files"][first_photo(said["files"])].update(size=-1)),
    "a list in place of the files": in_manifest(lambda said: said.update(files=[])),
    "a field too many": in_manifest(lambda said: said.update(extra=1)),
}


@pytest.mark.parametrize("kind", DAMAGE)
def test_a_damaged_backup_is_refused_in_one_sentence_and_leaves_nothing_behind(tmp_path: Path, kind: str) -> None:
    scene = make_scene(tmp_path / "data")
    add(scene.store, scene.person, consent_of(scene.clock))
    source = make_backup(scene.store, tmp_path / "backup.zip").path
    scene.store.close()
    rewritten(source, DAMAGE[kind])
    with pytest.raises(BackupRefused) as caught:
        restore_backup(source, tmp_path / "place")
    assert is_one_sentence(caught.value)
    assert {path.name for path in tmp_path.iterdir()} == {"data", "data-journal", "backup.zip"}


def _moved_directory(whole: bytearray) -> None:
    """The zip's end says that its directory lies 2 GB further on, so that its files would start before the zip."""
    end = whole.rindex(b"PK\x05\x06")
    whole[end + 16 : end + 20] = (2**31).to_bytes(4, "little")


def _other_packing(whole: bytearray) -> None:
    """The manifest is said to be packed by LZMA, whose reader takes as much memory as the file asks for."""
    entry = whole.index(b"PK\x01\x02")
    whole[entry + 10 : entry + 12] = (14).to_bytes(2, "little")


@pytest.mark.parametrize("forge", [_moved_directory, _other_packing])
def test_a_zip_whose_directory_was_forged_is_refused(tmp_path: Path, forge: Callable[[bytearray], None]) -> None:
    scene = make_scene(tmp_path / "data")
    source = make_backup(scene.store, tmp_path / "backup.zip").path
    scene.store.close()
    whole = bytearray(source.read_bytes())
    forge(whole)
    source.write_bytes(whole)
    with pytest.raises(BackupRefused) as caught:
        restore_backup(source, tmp_path / "place")
    assert is_one_sentence(caught.value)
    assert not (tmp_path / "place").exists()


@pytest.mark.parametrize("left", [0, 1, 40, 0.5, 0.95, -1, -30])
def test_a_file_that_was_cut_off_is_refused(tmp_path: Path, left: float) -> None:
    scene = make_scene(tmp_path / "data")
    add(scene.store, scene.person)
    source = make_backup(scene.store, tmp_path / "backup.zip").path
    scene.store.close()
    whole = source.read_bytes()
    source.write_bytes(whole[: int(left * len(whole)) if isinstance(left, float) else left])
    with pytest.raises(BackupRefused) as caught:
        restore_backup(source, tmp_path / "place")
    assert is_one_sentence(caught.value)
    assert not (tmp_path / "place").exists()


def test_no_single_changed_byte_of_a_backup_is_restored_as_if_nothing_were(tmp_path: Path) -> None:
    """Every 97th byte: either it is refused, or what comes back is what was there (zip fields that carry nothing)."""
    scene = make_scene(tmp_path / "data")
    add(scene.store, scene.person)
    before = shown(scene.store, scene)
    source = make_backup(scene.store, tmp_path / "backup.zip").path
    whole, n_refused = source.read_bytes(), 0
    for at in range(0, len(whole), 97 * 8):
        source.write_bytes(whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :])
        place = tmp_path / f"place {at}"
        try:
            restore_backup(source, place, now=scene.clock)
        except BackupRefused:
            n_refused += 1
            assert not place.exists()
            continue
        back = Store.open(place, now=scene.clock)
        assert shown(back, scene) == before
        back.close()
        shutil.rmtree(place)
    scene.store.close()
    assert n_refused > 10


def test_a_backup_while_others_write_holds_one_state_of_the_records(
    filled: Scene, another_place: Callable[[], Path]
) -> None:
    stop, added, faults = threading.Event(), [], []

    def keep_adding() -> None:
        shade = 40
        while not stop.is_set() and shade < 120:
            try:
                added.append(add(filled.store, filled.person, shade=shade).id)
            except Exception as error:  # told by the assertion below
                faults.append(error)
            shade += 1

    writer = threading.Thread(target=keep_adding)
    writer.start()
    try:
        while len(added) < 2 and not faults:
            stop.wait(0.01)
        made = make_backup(filled.store, filled.folder.parent / "backup.zip")
    finally:
        stop.set()
        writer.join()
    assert faults == []
    assert made.left_out == ()
    done = restore_backup(made.path, another_place(), now=filled.clock)
    assert done.missing == ()
    assert 4 <= done.n_photos == made.n_photos
    back = Store.open(done.folder, now=filled.clock)
    assert verify(back).faults == ()
    back.close()


def test_a_photo_whose_file_is_damaged_is_left_out_and_named(filled: Scene) -> None:
    name = min(filled.photo_names)
    (filled.folder / "photos" / name).write_bytes(b"damaged")
    made = make_backup(filled.store, filled.folder.parent / "backup.zip")
    [said] = made.left_out
    assert said.startswith(name)


def test_a_backup_appears_only_once_it_is_whole(filled: Scene) -> None:
    class FullDisk(LocalDisk):
        def sync(self, file: int) -> None:
            raise OSError(28, "No space left on device", str(file))

    with pytest.raises(StorageFault, match="no space left") as caught:
        make_backup(filled.store, filled.folder.parent / "backup.zip", disk=FullDisk())
    assert is_one_sentence(caught.value)
    assert [path.name for path in filled.folder.parent.iterdir() if "backup" in path.name] == []


def test_an_existing_file_is_never_written_over_and_a_folder_gets_a_name_by_the_moment(filled: Scene) -> None:
    taken = filled.folder.parent / "taken.zip"
    taken.write_text("mine")
    for place in (taken, filled.folder.parent / "no such folder" / "backup.zip"):
        with pytest.raises(InvalidRecord) as caught:
            make_backup(filled.store, place)
        assert is_one_sentence(caught.value)
    assert taken.read_text() == "mine"
    assert make_backup(filled.store, filled.folder.parent).path.name == "latch-and-line-2030-03-04T120000Z.zip"


def test_without_postgresql_s_programs_it_is_said_in_one_sentence(
    filled: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    if filled.store.engine.dialect.name == "sqlite":
        pytest.skip("SQLite is copied by its own call")
    monkeypatch.setattr("records.safekeeping.postgres_tools._find", lambda _: None)
    with pytest.raises(StorageFault, match="pg_dump") as caught:
        make_backup(filled.store, filled.folder.parent / "backup.zip")
    assert is_one_sentence(caught.value)


def test_the_command_line_backs_up_verifies_and_restores(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "data"))
    assert main(["verify"]) == 2
    assert "no data folder" in capsys.readouterr().err
    scene = make_scene(tmp_path / "data")
    add(scene.store, scene.person)
    scene.store.close()
    assert main(["backup", str(tmp_path / "b.zip")]) == 0
    assert "1 photos" in capsys.readouterr().out
    assert main(["backup", str(tmp_path / "b.zip")]) == 2
    assert main(["verify"]) == 0
    assert "All is as it was put there." in capsys.readouterr().out
    monkeypatch.setenv(JOURNAL_VARIABLE, str(tmp_path / "data-journal"))
    assert main(["restore", str(tmp_path / "b.zip"), "--into", str(tmp_path / "new")]) == 0
    assert main(["restore", str(tmp_path / "b.zip"), "--into", str(tmp_path / "new")]) == 2
    [said] = capsys.readouterr().err.strip().splitlines()[-1:]
    assert said.endswith("move what is there away.")
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "new"))
    min((tmp_path / "new" / "photos").iterdir()).write_bytes(b"damaged")
    assert main(["verify"]) == 1
    assert "changed on the disk" in capsys.readouterr().err


CHANGES = {
    "an answer": "UPDATE sheet SET answers = '{\"phase\": 7}'",
    "points": "UPDATE placed_points SET landmarks = '{}'",
    "a key": "UPDATE reference_key SET answers = '[]'",
    "a key's points": 'UPDATE reference_key SET landmarks = \'{"landmarks": {"ear": 1}}\'',
    "a hash": "UPDATE photo SET sha256 = '" + "0" * 64 + "'",
    "a log line": "UPDATE audit_entry SET action = 'another' WHERE number = 1",
    "a file name": "UPDATE consent_scan SET file_name = '" + "a" * 32 + ".pdf'",
}


@pytest.mark.parametrize("what", CHANGES)
def test_verify_finds_what_was_changed_behind_the_program_s_back(filled: Scene, what: str) -> None:
    assert verify(filled.store).faults == ()
    with filled.store.writing() as session:
        session.execute(text(CHANGES[what]))
    assert verify(filled.store).faults


def test_verify_finds_records_that_name_others_which_are_not_there(tmp_path: Path) -> None:
    scene = make_scene(tmp_path / "data")
    half_done(scene.store, scene.person, add(scene.store, scene.person))
    file = make_url(str(scene.store.engine.url)).database
    connection = sqlite3.connect(file or "")
    connection.execute("DELETE FROM photo")
    connection.commit()
    connection.close()
    assert any("attempt" in fault for fault in verify(scene.store).faults)
    scene.store.close()


def test_photos_that_lie_elsewhere_are_in_the_backup_and_come_back_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(PHOTOS_VARIABLE, f"memory://photos-{token_hex(8)}")
    scene = make_scene(tmp_path / "data")
    add(scene.store, scene.person)
    before = shown(scene.store, scene)
    source = make_backup(scene.store, tmp_path / "backup.zip").path
    scene.store.close()
    with pytest.raises(BackupRefused, match="photos in memory"):
        restore_backup(source, tmp_path / "place", now=scene.clock)
    assert not (tmp_path / "place").exists()
    monkeypatch.setenv(PHOTOS_VARIABLE, f"memory://photos-{token_hex(8)}")
    restore_backup(source, tmp_path / "place", now=scene.clock)
    back = Store.open(tmp_path / "place", now=scene.clock)
    assert shown(back, scene) == before
    assert list((tmp_path / "place" / "photos").iterdir()) == []
    back.close()
