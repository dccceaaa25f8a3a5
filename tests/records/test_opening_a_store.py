"""Opening: folders, migrations, settings of the database, and what is said when it cannot be done."""

import os
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from records_scene import (
    MEASURES,
    POINTS,
    SHEET,
    Scene,
    add,
    clean_jpeg,
    consents_on_record,
    half_done,
    is_one_sentence,
    make_scene,
)
from sqlalchemy import URL, event, text

from records.attempt.attempts import open_attempts, save_sheet, start_attempt
from records.attempt.handing_in import hand_in, history
from records.errors import StorageFault
from records.identity.people import Role, local_person
from records.models import Base
from records.photo.photos import list_photos, read_bytes
from records.storage.database import engine_for
from records.storage.schema import config, newest_revision
from records.store import DATABASE_NAME, FOLDER_VARIABLE, Store, default_folder

ROOT = Path(__file__).parent.parent.parent
TABLES = {"alembic_version", *Base.metadata.tables}


def pragma(scene: Scene, name: str) -> object:
    with scene.store.reading() as session:
        return session.scalar(text(f"PRAGMA {name}"))


def test_migrations_from_an_empty_folder_give_exactly_the_tables_of_the_models(sqlite_scene: Scene) -> None:
    with sqlite_scene.store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
        assert context.get_current_revision() == newest_revision()
        found = connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'")).scalars()
        assert set(found) == TABLES


def test_the_checks_of_the_migrations_are_those_of_the_models(sqlite_scene: Scene) -> None:
    """Alembic's comparison passes over CHECK constraints, so their text is compared here."""
    with sqlite_scene.store.reading() as session:
        for table in Base.metadata.sorted_tables:
            stored = session.scalar(text("SELECT sql FROM sqlite_master WHERE name = :name"), {"name": table.name})
            checks = [c for c in table.constraints if c.__visit_name__ == "table_or_column_check_constraint"]
            assert all(str(check.sqltext) in stored and str(check.name) in stored for check in checks)
            assert stored.count("CHECK") == len(checks)


def test_a_database_knows_foreign_keys_waits_for_the_disk_and_wipes_what_it_deletes(sqlite_scene: Scene) -> None:
    assert pragma(sqlite_scene, "journal_mode") == "wal"
    assert pragma(sqlite_scene, "synchronous") == 2
    assert pragma(sqlite_scene, "foreign_keys") == 1
    assert pragma(sqlite_scene, "secure_delete") == 1
    assert pragma(sqlite_scene, "busy_timeout") == 10000


def test_every_connection_of_the_pool_has_these_settings(sqlite_scene: Scene) -> None:
    with (
        sqlite_scene.store.engine.connect() as one,
        sqlite_scene.store.engine.connect() as two,
        sqlite_scene.store.engine.connect() as three,
    ):
        values = [c.exec_driver_sql("PRAGMA foreign_keys").scalar() for c in (one, two, three)]
    assert values == [1, 1, 1]


def test_a_restart_finds_everything(tmp_path: Path) -> None:
    before = make_scene(tmp_path)
    photo = add(before.store, before.person)
    done = half_done(before.store, before.person, photo)
    handed_in = hand_in(before.store, before.person, done.id, measures_json=MEASURES, measure_version="1")
    half_done(before.store, before.person, photo)
    still_open = open_attempts(before.store, before.person)
    consents = consents_on_record(before.store, before.person)
    before.store.close()
    after = make_scene(tmp_path)
    assert after.person == before.person
    assert after.store.sweep.removed == 0
    assert list_photos(after.store, after.person) == (photo,)
    assert read_bytes(after.store, after.person, photo.id) == clean_jpeg()
    assert history(after.store, after.person) == (handed_in,)
    assert open_attempts(after.store, after.person) == still_open
    assert still_open[0].sheet(1) == SHEET
    assert still_open[0].landmarks(1) == POINTS
    assert consents_on_record(after.store, after.person) == consents
    after.store.close()


def test_the_data_folder_is_named_by_the_environment_and_made_for_this_user_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    named = tmp_path / "with space, 100% und Umlaut ä" / "data"
    monkeypatch.setenv(FOLDER_VARIABLE, str(named))
    Store.open().close()
    assert (named / DATABASE_NAME).is_file()
    if os.name != "nt":
        assert named.stat().st_mode & 0o077 == 0


def test_without_a_name_the_folder_is_the_user_s_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(FOLDER_VARIABLE, raising=False)
    assert default_folder().is_absolute()
    assert default_folder().name == "latch-and-line"


def test_a_store_opens_from_any_working_folder(tmp_path: Path) -> None:
    script = "from records.store import Store; s = Store.open(); s.close()"
    environment = {**os.environ, "PYTHONPATH": str(ROOT), FOLDER_VARIABLE: "data"}
    subprocess.run([sys.executable, "-c", script], cwd=tmp_path, env=environment, check=True)
    assert (tmp_path / "data" / DATABASE_NAME).is_file()


def test_the_url_names_another_database(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "data", url=f"sqlite:///{tmp_path / 'elsewhere.db'}")
    local_person(store)
    store.close()
    assert (tmp_path / "elsewhere.db").is_file()
    assert not (tmp_path / "data" / DATABASE_NAME).exists()


def test_many_may_open_a_new_folder_at_once_and_meet_the_same_person(tmp_path: Path) -> None:
    def opened(_: int) -> str:
        store = Store.open(tmp_path / "data", busy_seconds=20)
        try:
            return local_person(store).id
        finally:
            store.close()

    with ThreadPoolExecutor(8) as pool:
        assert len(set(pool.map(opened, range(8)))) == 1


def test_a_file_in_place_of_the_folder_is_refused_in_one_sentence(tmp_path: Path) -> None:
    place = tmp_path / "taken"
    place.write_text("not a folder")
    with pytest.raises(StorageFault) as caught:
        Store.open(place)
    assert is_one_sentence(caught.value)
    assert place.read_text() == "not a folder"


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder that not even root can write")
def test_an_unwritable_place_is_refused_in_one_sentence() -> None:
    with pytest.raises(StorageFault) as caught:
        Store.open(Path("/proc/latch-and-line"))
    assert is_one_sentence(caught.value)


def test_a_foreign_file_in_place_of_the_database_is_refused_and_left_alone(tmp_path: Path) -> None:
    database = tmp_path / DATABASE_NAME
    database.write_bytes(b"a shopping list, much longer than the header of a database" * 20)
    with pytest.raises(StorageFault) as caught:
        Store.open(tmp_path)
    assert is_one_sentence(caught.value)
    assert database.read_bytes().startswith(b"a shopping list")


def test_records_of_a_newer_version_are_refused_and_left_alone(sqlite_scene: Scene) -> None:
    with sqlite_scene.store.writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StorageFault, match="newer version") as caught:
        Store.open(sqlite_scene.folder)
    assert is_one_sentence(caught.value)
    with sqlite_scene.store.reading() as session:
        assert session.scalar(text("SELECT version_num FROM alembic_version")) == "9999"


def taken_over_by_a_newer_version(folder: Path) -> None:
    """What a newer program's migration leaves: another column, and a revision that this one does not know."""
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as newer, newer:
        newer.execute("ALTER TABLE attempt ADD COLUMN mood VARCHAR NOT NULL DEFAULT 'calm'")
        newer.execute("UPDATE alembic_version SET version_num = '9999'")


def rows_and_files(scene: Scene) -> tuple[object, set[str]]:
    with closing(sqlite3.connect(scene.folder / DATABASE_NAME)) as connection:
        return list(connection.iterdump()), scene.photo_names


def test_a_program_that_runs_on_while_a_newer_one_migrates_writes_nothing_more(sqlite_scene: Scene) -> None:
    store, person = sqlite_scene.store, sqlite_scene.person
    photo = add(store, person)
    attempt = half_done(store, person, photo)
    taken_over_by_a_newer_version(sqlite_scene.folder)
    before = rows_and_files(sqlite_scene)
    for write in (
        lambda: save_sheet(store, person, attempt.id, 1, SHEET, 1),
        lambda: start_attempt(store, person, photo.id),
        lambda: hand_in(store, person, attempt.id, measures_json=MEASURES, measure_version="7"),
        lambda: add(store, person),
    ):
        with pytest.raises(StorageFault, match="Another version of this program") as caught:
            write()
        assert is_one_sentence(caught.value)
    assert rows_and_files(sqlite_scene) == before
    assert [one.id for one in open_attempts(store, person)] == [attempt.id]


def test_an_older_program_that_opens_records_of_a_newer_one_changes_no_byte_of_them(sqlite_scene: Scene) -> None:
    add(sqlite_scene.store, sqlite_scene.person)
    sqlite_scene.store.close()
    taken_over_by_a_newer_version(sqlite_scene.folder)
    database = sqlite_scene.folder / DATABASE_NAME
    before, photos = database.read_bytes(), sqlite_scene.photo_names
    for _ in range(2):
        with pytest.raises(StorageFault, match="newer version"):
            Store.open(sqlite_scene.folder)
    assert database.read_bytes() == before
    assert sqlite_scene.photo_names == photos


def test_a_read_only_database_is_told_in_one_sentence(sqlite_scene: Scene) -> None:
    url = f"sqlite:///file:{sqlite_scene.folder / DATABASE_NAME}?mode=ro&uri=true"
    with pytest.raises(StorageFault, match="cannot be written") as caught:
        Store.open(sqlite_scene.folder, url=url)
    assert is_one_sentence(caught.value)


def test_a_locked_database_is_told_in_one_sentence_and_reading_goes_on(sqlite_scene: Scene) -> None:
    photo = add(sqlite_scene.store, sqlite_scene.person)
    patient = Store.open(sqlite_scene.folder, busy_seconds=0.1)
    other = sqlite3.connect(sqlite_scene.folder / DATABASE_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        with pytest.raises(StorageFault, match="try again") as caught:
            start_attempt(patient, sqlite_scene.person, photo.id)
        with pytest.raises(StorageFault, match="try again"):
            Store.open(sqlite_scene.folder, busy_seconds=0.1)
        assert list_photos(patient, sqlite_scene.person)[0].id == photo.id
    finally:
        other.execute("ROLLBACK")
        other.close()
        patient.close()
    assert is_one_sentence(caught.value)
    assert open_attempts(sqlite_scene.store, sqlite_scene.person) == ()


def test_a_full_disk_is_told_in_one_sentence_and_saves_nothing(sqlite_scene: Scene) -> None:
    attempt = start_attempt(sqlite_scene.store, sqlite_scene.person, add(sqlite_scene.store, sqlite_scene.person).id)
    small = Store.open(sqlite_scene.folder, now=sqlite_scene.clock)

    @event.listens_for(small.engine, "begin")
    def no_page_more(connection: object) -> None:
        connection.exec_driver_sql("PRAGMA max_page_count = 1")  # type: ignore[attr-defined]

    def fill() -> None:
        for _ in range(400):
            save_sheet(
                small, sqlite_scene.person, start_attempt(small, sqlite_scene.person, attempt.photo_id).id, 1, SHEET, 0
            )

    with pytest.raises(StorageFault, match="full") as caught:
        fill()
    small.close()
    assert is_one_sentence(caught.value)
    with sqlite_scene.store.reading() as session:
        assert session.scalar(text("PRAGMA integrity_check")) == "ok"


def test_a_folder_that_vanishes_while_open_is_told_in_one_sentence(sqlite_scene: Scene, tmp_path: Path) -> None:
    photo = add(sqlite_scene.store, sqlite_scene.person)
    sqlite_scene.folder.rename(tmp_path / "moved away")
    with pytest.raises(StorageFault) as caught:
        start_attempt(sqlite_scene.store, sqlite_scene.person, photo.id)
    assert is_one_sentence(caught.value)
    with pytest.raises(StorageFault) as caught:
        read_bytes(sqlite_scene.store, sqlite_scene.person, photo.id)
    assert is_one_sentence(caught.value)
    assert not sqlite_scene.folder.exists()
    (tmp_path / "moved away").rename(sqlite_scene.folder)
    assert open_attempts(sqlite_scene.store, sqlite_scene.person) == ()
    assert start_attempt(sqlite_scene.store, sqlite_scene.person, photo.id).photo_id == photo.id


def test_another_database_in_the_old_place_is_not_mistaken_for_the_open_one(
    sqlite_scene: Scene, tmp_path: Path
) -> None:
    photo = add(sqlite_scene.store, sqlite_scene.person)
    sqlite_scene.folder.rename(tmp_path / "moved away")
    Store.open(sqlite_scene.folder).close()
    with pytest.raises(StorageFault):
        start_attempt(sqlite_scene.store, sqlite_scene.person, photo.id)


def test_a_database_of_the_previous_version_keeps_all_its_rows_and_whoever_was_there_keeps_all_roles(
    tmp_path: Path,
) -> None:
    """Adding to a table must not copy it: deleting the old copy would delete the answers that hang on an attempt."""
    engine = engine_for(URL.create("sqlite", database=str(tmp_path / DATABASE_NAME)), 10)
    with engine.execution_options(takes_write_lock=True).begin() as connection:
        command.upgrade(config(connection), "0001")
        for line in (
            "INSERT INTO person VALUES ('a', 'this computer', '2030-01-01')",
            "INSERT INTO consent VALUES ('c', NULL, '2030-01-01', 'doll', 'x', 'y', '[]', 0, '2030-01-01', NULL, 'z', NULL)",
            "INSERT INTO photo VALUES ('p', NULL, 'c', NULL, 't', 1, 1, 'f', 's', 'g', 'h', '2030-01-01', NULL)",
            "INSERT INTO attempt VALUES ('t', 'a', 'p', 'score_first', 'score', '2030-01-01', NULL)",
            "INSERT INTO sheet VALUES ('t', 1, '{}', 1, '2030-01-01')",
        ):
            connection.execute(text(line))
    engine.dispose()
    store = Store.open(tmp_path)
    try:
        with store.reading() as session:
            assert session.execute(text("SELECT attempt_id, round, answers, revision FROM sheet")).one() == (
                "t",
                1,
                "{}",
                1,
            )
            assert session.execute(text("SELECT photo_id, try_number, slot FROM attempt")).one() == ("p", 1, None)
        assert local_person(store).id == "a"
        assert local_person(store).roles == frozenset(Role)
    finally:
        store.close()


def test_students_of_a_class_from_before_are_numbered_in_the_order_of_joining(tmp_path: Path) -> None:
    engine = engine_for(URL.create("sqlite", database=str(tmp_path / DATABASE_NAME)), 10)
    with engine.execution_options(takes_write_lock=True).begin() as connection:
        command.upgrade(config(connection), "0004")
        connection.execute(text("INSERT INTO person (id, handle, created_at) VALUES ('a', 'otter', '2030-01-01')"))
        for class_id in ("x", "y", "z"):
            connection.execute(
                text(
                    "INSERT INTO class_group (id, title, made_by, made_at, keep_until) "
                    f"VALUES ('{class_id}', 't', 'a', '2030-01-01', '2031-01-01')"
                )
            )
        for person_id, class_id, part, day in (
            ("i", "x", "instructor", 1),
            ("d", "x", "student", 4),
            ("b", "x", "student", 2),
            ("c", "x", "student", 2),
            ("d", "y", "student", 3),
            ("i", "z", "instructor", 1),
        ):
            connection.execute(
                text(f"INSERT OR IGNORE INTO person (id, handle, created_at) VALUES ('{person_id}', '{person_id}', 1)")
            )
            connection.execute(
                text(
                    "INSERT INTO class_member (class_id, person_id, part, joined_at) "
                    f"VALUES ('{class_id}', '{person_id}', '{part}', '2030-01-0{day}')"
                )
            )
    engine.dispose()
    store = Store.open(tmp_path)
    try:
        with store.reading() as session:
            numbered = session.execute(text("SELECT class_id, person_id, number FROM class_member")).all()
            last = session.execute(text("SELECT id, last_number FROM class_group")).all()
        assert set(numbered) == {
            ("x", "i", 0),
            ("x", "b", 1),
            ("x", "c", 2),
            ("x", "d", 3),
            ("y", "d", 1),
            ("z", "i", 0),
        }
        assert dict(map(tuple, last)) == {"x": 3, "y": 1, "z": 0}
    finally:
        store.close()


def test_without_its_database_a_folder_of_photos_is_left_alone_until_the_database_is_back(
    sqlite_scene: Scene, tmp_path: Path
) -> None:
    """A fresh database would name none of the photos, and opening deletes what no record names."""
    photo = add(sqlite_scene.store, sqlite_scene.person)
    names = sqlite_scene.photo_names
    sqlite_scene.store.close()
    (sqlite_scene.folder / DATABASE_NAME).rename(tmp_path / "taken away")
    for _ in range(2):
        with pytest.raises(StorageFault, match="no records that name them") as caught:
            Store.open(sqlite_scene.folder)
        assert is_one_sentence(caught.value)
        assert sqlite_scene.photo_names == names
    (tmp_path / "taken away").rename(sqlite_scene.folder / DATABASE_NAME)
    again = make_scene(sqlite_scene.folder)
    assert read_bytes(again.store, again.person, photo.id) == clean_jpeg()
    again.store.close()


def test_another_database_does_not_empty_the_photo_folder_of_the_first(sqlite_scene: Scene, tmp_path: Path) -> None:
    add(sqlite_scene.store, sqlite_scene.person)
    names = sqlite_scene.photo_names
    with pytest.raises(StorageFault, match="no records that name them"):
        Store.open(sqlite_scene.folder, url=f"sqlite:///{tmp_path / 'other.sqlite3'}")
    assert sqlite_scene.photo_names == names
