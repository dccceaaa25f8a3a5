"""Publishing, giving work, migrating, backing up and restoring: killed at any step, before or after, never between."""

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from bundle_scene import a_published_set, sent, sqlite_scene_in
from class_scene import a_class
from killed import assert_old_then_new, needs_signals, outcomes, run_nursery
from nursery import SOON
from records_scene import POINTS, SHEET, START, Scene, add, consent_of, consents_on_record, half_done, make_scene
from sqlalchemy import URL, text

from records import teaching_sets as sets
from records.attempt.attempts import open_attempts
from records.auditing.audit import check_chain
from records.classroom import assignments, classes
from records.consent.journal import Kind
from records.errors import RecordsError
from records.photo.photos import list_photos
from records.safekeeping.backup import make_backup
from records.safekeeping.restoring import restore_backup
from records.safekeeping.verifying import verify
from records.storage.database import engine_for
from records.storage.schema import config, newest_revision
from records.store import DATABASE_NAME
from records.teaching_sets import State

pytestmark = needs_signals


def state_of_publish(scene: Scene) -> str:
    [listed] = sets.list_sets(scene.store, scene.person)
    first, second = (sets.get_version(scene.store, scene.person, line.id) for line in listed.versions)
    assert sets.seal_holds(scene.store, scene.person, first.id) is True
    assert check_chain(scene.store).broken_at is None
    assert len(second.photos) == 4
    if second.state == State.DRAFT:
        sets.publish(scene.store, scene.person, second.id, expected_revision=second.revision, checklist_version="3")
        return "old"
    assert second.state == State.PUBLISHED
    assert sets.seal_holds(scene.store, scene.person, second.id) is True
    assert set(sets.frozen_keys(scene.store, scene.person, second.id)) == {photo.photo_id for photo in second.photos}
    return "new"


def state_of_give(scene: Scene) -> str:
    [group] = classes.list_classes(scene.store, scene.person)
    given = {one.title: one for one in assignments.list_assignments(scene.store, scene.person, group.id)}
    assert check_chain(scene.store).broken_at is None
    if set(given) == {"Week 2"}:
        return "old"
    assert set(given) == {"Week 2", SOON}
    assert (given[SOON].hidden_repeat, given[SOON].n_slots) == (True, given["Week 2"].n_slots + 1)
    return "new"


@pytest.fixture
def with_a_draft(tmp_path: Path) -> Path:
    """A folder with a published set and a draft of its next version."""
    scene = make_scene(tmp_path / "template")
    first = a_published_set(scene)
    sets.new_draft(scene.store, scene.person, first.set_id)
    scene.store.close()
    return scene.folder


@pytest.fixture
def with_a_class(tmp_path: Path) -> Path:
    """A folder with a class that was given one piece of work."""
    scene = make_scene(tmp_path / "template")
    a_class(scene)
    scene.store.close()
    return scene.folder


@pytest.mark.parametrize("by_writes", [False, True], ids=["statements", "writes"])
def test_a_set_is_published_whole_or_still_a_draft(
    with_a_draft: Path, tmp_path: Path, request: pytest.FixtureRequest, by_writes: bool
) -> None:
    shim = request.getfixturevalue("kill_shim") if by_writes else None
    folders = run_nursery("publish", with_a_draft, tmp_path / "out", shim, stride=1 if by_writes else 2)
    assert_old_then_new(outcomes(folders, state_of_publish), least=4 if by_writes else 15)


@pytest.mark.parametrize("by_writes", [False, True], ids=["statements", "writes"])
def test_work_is_given_to_a_class_whole_or_not_at_all(
    with_a_class: Path, tmp_path: Path, request: pytest.FixtureRequest, by_writes: bool
) -> None:
    shim = request.getfixturevalue("kill_shim") if by_writes else None
    folders = run_nursery("give", with_a_class, tmp_path / "out", shim)
    assert_old_then_new(outcomes(folders, state_of_give), least=4 if by_writes else 15)


def state_of_take_in(scene: Scene) -> str:
    listed = sets.list_sets(scene.store, scene.person)
    assert verify(scene.store).faults == ()
    if not listed:
        assert list_photos(scene.store, scene.person) == ()
        assert consents_on_record(scene.store, scene.person) == ()
        assert scene.photo_names == set()
        return "old"
    assert len(scene.photo_names) == 6
    assert sets.seal_holds(scene.store, scene.person, listed[0].versions[0].id) is True
    return "new"


def test_a_bundle_is_taken_in_whole_or_not_at_all_when_killed_at_each_write(tmp_path: Path, kill_shim: Path) -> None:
    origin = sqlite_scene_in(tmp_path / "origin" / "data")
    template = tmp_path / "template"
    empty = make_scene(template)
    (template / "bundle.zip").write_bytes(sent(origin, a_published_set(origin).id))
    origin.store.close()
    empty.store.close()
    folders = run_nursery("take_in", template, tmp_path / "out", kill_shim, stride=2)
    assert_old_then_new(outcomes(folders, state_of_take_in), least=8)


def of_the_first_version(folder: Path) -> Path:
    """A folder as the first version of the program left it, with a photo, an attempt, its answers and its points."""
    folder.mkdir()
    (folder / "photos").mkdir()
    engine = engine_for(URL.create("sqlite", database=str(folder / DATABASE_NAME)), 10)
    with engine.execution_options(takes_write_lock=True).begin() as connection:
        command.upgrade(config(connection), "0001")
        for line in (
            "INSERT INTO person VALUES ('a', 'this computer', '2030-01-01')",
            "INSERT INTO consent VALUES ('c', NULL, '2030-01-01', 'doll', 'x', 'y', '[]', 0, '2030-01-01', NULL, 'z', NULL)",
            "INSERT INTO photo VALUES ('p', NULL, 'c', NULL, 't', 1, 1, 'f', 's', 'g', 'h', '2030-01-01', NULL)",
            "INSERT INTO attempt VALUES ('t', 'a', 'p', 'score_first', 'score', '2030-01-01', NULL)",
            "INSERT INTO sheet VALUES ('t', 1, '{\"phase\": null}', 3, '2030-01-01')",
        ):
            connection.execute(text(line.replace(":", "\\:")))
    engine.dispose()
    return folder


def rows_of(folder: Path) -> tuple[str, object, object]:
    """The revision, and what the first version had stored, as it stands in the file before anybody opens it."""
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as connection:
        return (
            connection.execute("SELECT version_num FROM alembic_version").fetchone()[0],
            connection.execute("SELECT attempt_id, round, answers, revision FROM sheet").fetchall(),
            connection.execute("SELECT id, person_id, photo_id FROM attempt").fetchall(),
        )


@pytest.mark.parametrize(("by_writes", "stride"), [(False, 5), (True, 5)], ids=["statements", "writes"])
def test_records_are_brought_to_a_new_version_whole_or_stay_as_they_were(
    tmp_path: Path, request: pytest.FixtureRequest, by_writes: bool, stride: int
) -> None:
    shim = request.getfixturevalue("kill_shim") if by_writes else None
    template = of_the_first_version(tmp_path / "template")
    before = rows_of(template)
    assert before[0] == "0001"
    folders = run_nursery("open", template, tmp_path / "out", shim, stride=stride)
    found = []
    for folder in folders:
        revision, *rows = rows_of(folder)
        assert rows == list(before[1:])
        found.append(revision)
        scene = make_scene(folder)
        assert rows_of(folder) == (newest_revision(), *before[1:])
        assert check_chain(scene.store).broken_at is None
        scene.store.close()
    assert set(found) == {"0001", newest_revision()}
    assert found == sorted(found)
    assert len(found) >= 10


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A folder with a consented photo, a doll and an attempt under way."""
    scene = make_scene(tmp_path / "template")
    add(scene.store, scene.person, consent_of(scene.clock))
    half_done(scene.store, scene.person, add(scene.store, scene.person))
    scene.store.close()
    return scene.folder


@pytest.fixture
def backdate() -> Callable[[Path], int]:
    """Lets half a day pass over whatever lies hidden in a folder; says how many things that were."""

    def done(folder: Path) -> int:
        hidden = list(folder.glob(".*"))
        for path in [*hidden, *(inside for one in hidden if one.is_dir() for inside in one.iterdir())]:
            os.utime(path, times=(path.stat().st_atime, path.stat().st_mtime - 43200))
        return len(hidden)

    return done


def holds_all(scene: Scene) -> bool:
    [attempt] = open_attempts(scene.store, scene.person)
    return (
        len(list_photos(scene.store, scene.person)) == 2
        and (attempt.sheet(1), attempt.landmarks(1)) == (SHEET, POINTS)
        and verify(scene.store).faults == ()
    )


def backup_in(folder: Path, to: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Whether there is a backup, which must then bring everything back; the records themselves are never harmed."""
    scene = make_scene(folder)
    assert holds_all(scene)
    scene.store.close()
    backup = folder / "backup.zip"
    if not backup.exists():
        return "old"
    monkeypatch.setenv("LATCH_AND_LINE_JOURNAL", str(folder.with_name(f"{folder.name}-journal")))
    assert restore_backup(backup, to, now=lambda: START).n_photos == 2
    back = make_scene(to)
    assert holds_all(back)
    back.store.close()
    monkeypatch.delenv("LATCH_AND_LINE_JOURNAL")
    return "new"


@pytest.mark.parametrize(("by_writes", "stride"), [(False, 3), (True, 3)], ids=["statements", "writes"])
def test_a_backup_is_whole_or_not_there_and_the_next_one_clears_up(
    kept: Path,
    tmp_path: Path,
    request: pytest.FixtureRequest,
    monkeypatch: pytest.MonkeyPatch,
    backdate: Callable[[Path], int],
    by_writes: bool,
    stride: int,
) -> None:
    shim = request.getfixturevalue("kill_shim") if by_writes else None
    folders = run_nursery("backup", kept, tmp_path / "out", shim, stride=stride)
    found = [backup_in(folder, tmp_path / f"back-{at}", monkeypatch) for at, folder in enumerate(folders)]
    assert found == sorted(found, reverse=True)
    assert set(found[:-1]) >= {"old"}
    assert found[-1] == "new"
    assert len(found) >= 4
    left = [backdate(folder) for folder in folders]
    assert sum(left) > 0, "nobody was killed while a copy lay there"
    for folder in folders:
        scene = make_scene(folder)
        make_backup(scene.store, folder / "second.zip")
        scene.store.close()
        assert list(folder.glob(".*")) == []


@pytest.fixture
def ready_to_restore(kept: Path, tmp_path: Path) -> Path:
    """A folder that holds a backup."""
    place = tmp_path / "held"
    place.mkdir()
    scene = make_scene(kept)
    make_backup(scene.store, place / "backup.zip")
    scene.store.close()
    return place


def test_a_restore_is_whole_or_can_be_done_again_and_is_always_written_down(
    ready_to_restore: Path, tmp_path: Path, kill_shim: Path
) -> None:
    folders = run_nursery("restore", ready_to_restore, tmp_path / "out", kill_shim, stride=2)
    found = []
    for folder in folders:
        into = folder / "data"
        whole = into.exists() and any(into.iterdir())
        found.append("new" if whole else "old")
        if not whole:
            assert restore_backup(folder / "backup.zip", into, now=lambda: START).n_photos == 2
        scene = make_scene(into)
        assert holds_all(scene)
        kinds = [entry.kind for entry in scene.store.journal.entries()]
        assert Kind.RESTORED in kinds, "the journal was never told"
        scene.store.close()
        assert list(folder.glob(".*")) == []
    assert_old_then_new(found, least=10)


def test_what_is_not_ours_is_never_cleared_away(kept: Path, backdate: Callable[[Path], int]) -> None:
    strangers = [
        kept / name for name in (".backup-mine", ".latch-and-line-backup-notes", "latch-and-line-backup-0a0a0a0a")
    ]
    for path in strangers:
        path.mkdir()
    fresh = kept / ".latch-and-line-backup-0a0a0a0a"
    backdate(kept)
    fresh.mkdir()
    scene = make_scene(kept)
    make_backup(scene.store, kept / "backup.zip")
    with pytest.raises(RecordsError):
        restore_backup(kept / "backup.zip", kept)
    scene.store.close()
    assert all(path.is_dir() for path in (*strangers, fresh))
