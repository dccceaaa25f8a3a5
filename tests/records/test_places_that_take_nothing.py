"""Disks and folders that may be read only, met while the program runs and when it starts; root's doing, as root is kept out
by nothing less.
"""

import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from records_scene import SHEET, Scene, add, clean_jpeg, consent_of, is_one_sentence, make_scene

from records.attempt.attempts import resume, save_sheet, start_attempt
from records.consent.withdrawal import withdraw
from records.errors import StorageFault
from records.photo.photos import list_photos, read_bytes
from records.safekeeping.backup import make_backup
from records.store import DATABASE_NAME, Store


def run(*command: object) -> bool:
    """Whether the system did it."""
    words = [str(word) for word in command]
    return shutil.which(words[0]) is not None and not subprocess.run(words, capture_output=True, check=False).returncode


@pytest.fixture
def read_only() -> Iterator[Callable[[Path], None]]:
    """Mounts a folder over itself so that nobody can write there."""
    mounted: list[Path] = []

    def mount(folder: Path) -> None:
        if not run("mount", "--bind", folder, folder):
            pytest.skip("a folder can be mounted over itself by root on Linux only")
        mounted.append(folder)
        assert run("mount", "-o", "remount,ro,bind", folder)

    yield mount
    for folder in mounted:
        run("umount", "--lazy", folder)


@pytest.fixture
def frozen() -> Iterator[Callable[[Path], None]]:
    """Marks a file or folder as one that never changes."""
    marked: list[Path] = []

    def freeze(path: Path) -> None:
        if not run("chattr", "+i", path):
            pytest.skip("this file system, or this user, cannot freeze a file")
        marked.append(path)

    yield freeze
    for path in marked:
        run("chattr", "-i", path)


def one_sentence(act: Callable[[], object]) -> str:
    with pytest.raises(StorageFault) as caught:
        act()
    assert is_one_sentence(caught.value)
    return str(caught.value)


def test_a_folder_that_can_only_be_read_is_told_at_the_start_and_opens_once_it_can_be_written(
    sqlite_scene: Scene, read_only: Callable[[Path], None]
) -> None:
    photo = add(sqlite_scene.store, sqlite_scene.person)
    sqlite_scene.store.close()
    read_only(sqlite_scene.folder)
    assert "writ" in one_sentence(lambda: Store.open(sqlite_scene.folder))
    run("umount", "--lazy", sqlite_scene.folder)
    again = make_scene(sqlite_scene.folder)
    assert read_bytes(again.store, again.person, photo.id) == clean_jpeg()
    again.store.close()


def test_a_folder_that_becomes_read_only_keeps_all_that_is_on_record(
    sqlite_scene: Scene, read_only: Callable[[Path], None]
) -> None:
    store, person = sqlite_scene.store, sqlite_scene.person
    photo = add(store, person, consent_of(sqlite_scene.clock))
    names = sqlite_scene.photo_names
    read_only(sqlite_scene.folder)
    assert "read-only" in one_sentence(lambda: add(store, person))
    assert "read-only" in one_sentence(lambda: make_backup(store, sqlite_scene.folder))
    said = one_sentence(lambda: withdraw(store, person, photo.consent_id))
    assert "no longer used" in said
    assert sqlite_scene.photo_names == names
    assert list_photos(store, person) == ()
    store.close()
    run("umount", "--lazy", sqlite_scene.folder)
    again = make_scene(sqlite_scene.folder)
    assert list_photos(again.store, again.person) == ()
    assert again.photo_names == set(), "the files of what was withdrawn were not deleted afterwards"
    again.store.close()


def test_a_frozen_log_of_the_database_keeps_answers_from_being_saved_and_loses_none(
    sqlite_scene: Scene, frozen: Callable[[Path], None]
) -> None:
    store, person = sqlite_scene.store, sqlite_scene.person
    attempt = start_attempt(store, person, add(store, person).id)
    save_sheet(store, person, attempt.id, 1, SHEET, 0)
    store.engine.dispose()
    log = sqlite_scene.folder / f"{DATABASE_NAME}-wal"
    log.touch()
    frozen(log)
    said = one_sentence(lambda: save_sheet(store, person, attempt.id, 1, SHEET, 1))
    assert "nothing was saved" in said
    run("chattr", "-i", log)
    assert resume(store, person, attempt.id).sheet(1) == SHEET
    assert save_sheet(store, person, attempt.id, 1, SHEET, 1) == 2


def test_a_withdrawal_that_is_kept_but_not_yet_wiped_from_the_log_does_not_say_that_nothing_was_saved(
    sqlite_scene: Scene, frozen: Callable[[Path], None]
) -> None:
    store, person = sqlite_scene.store, sqlite_scene.person
    photo = add(store, person, consent_of(sqlite_scene.clock))
    frozen(sqlite_scene.folder / DATABASE_NAME)
    said = one_sentence(lambda: withdraw(store, person, photo.consent_id))
    assert "All is saved" in said
    assert "nothing" not in said
    assert list_photos(store, person) == ()
    assert sqlite_scene.photo_names == set()
