"""A process that is killed at any step leaves the old state or the new one, never half."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from killed import assert_old_then_new, needs_signals, outcomes, run_nursery
from records_scene import (
    MEASURES,
    POINTS,
    POINTS_AGAIN,
    SECOND_SHEET,
    SHEET,
    Scene,
    add,
    clean_jpeg,
    consent_of,
    consents_on_record,
    half_done,
    make_scene,
)

from records.attempt.attempts import open_attempts
from records.attempt.handing_in import hand_in, history
from records.auditing.audit import check_chain
from records.photo.photos import list_photos, read_bytes
from records.store import DATABASE_NAME

pytestmark = needs_signals


def state_of_hand_in(scene: Scene) -> str:
    done, still_open = history(scene.store, scene.person), open_attempts(scene.store, scene.person)
    if still_open:
        [attempt] = still_open
        assert done == ()
        assert {round: saved.sheet for round, saved in attempt.sheets.items()} == {1: SHEET, 2: SECOND_SHEET}
        assert {round: saved.landmarks for round, saved in attempt.points.items()} == {1: POINTS, 2: POINTS_AGAIN}
        again = hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="7")
        assert history(scene.store, scene.person) == (again,)
        return "old"
    [handed_in] = done
    assert dict(handed_in.sheets) == {1: SHEET, 2: SECOND_SHEET}
    assert dict(handed_in.landmarks) == {1: POINTS, 2: POINTS_AGAIN}
    assert dict(handed_in.measures) == MEASURES
    assert (handed_in.measure_version, handed_in.checklist_version) == ("7", "3")
    return "new"


def state_of_add_photo(scene: Scene) -> str:
    photos = list_photos(scene.store, scene.person)
    assert scene.store.sweep.missing == ()
    assert scene.store.sweep.not_removed == 0
    if not photos:
        assert scene.photo_names == set()
        assert consents_on_record(scene.store, scene.person) == ()
        return "old"
    [photo] = photos
    assert read_bytes(scene.store, scene.person, photo.id, "full") == clean_jpeg()
    assert read_bytes(scene.store, scene.person, photo.id, "screen") == clean_jpeg(24, 16)
    assert len(scene.photo_names) == 2
    return "new"


def state_of_withdraw(scene: Scene) -> str:
    [consent] = consents_on_record(scene.store, scene.person)
    [handed_in] = history(scene.store, scene.person)
    assert set(handed_in.sheets) == {1, 2}
    assert scene.store.journal.check().broken_at is None
    assert check_chain(scene.store).broken_at is None
    if consent.withdrawn_on is None:
        assert [entry.kind for entry in scene.store.journal.entries()] == []
        [photo] = list_photos(scene.store, scene.person)
        assert read_bytes(scene.store, scene.person, photo.id) == clean_jpeg()
        assert dict(handed_in.landmarks) == {1: POINTS, 2: POINTS_AGAIN}
        return "old"
    assert next((entry.kind, entry.object_id) for entry in scene.store.journal.entries()) == ("withdrawn", consent.id)
    assert list_photos(scene.store, scene.person) == ()
    assert scene.photo_names == set()
    assert handed_in.landmarks == {}
    assert all(answer.spot is None for sheet in handed_in.sheets.values() for answer in sheet.answers.values())
    return "new"


def completed_by_opening(folder: Path) -> bool:
    """Whether the journal said more than the records, and opening them did the rest."""
    with closing(sqlite3.connect(folder / DATABASE_NAME)) as connection:
        return connection.execute("SELECT 1 FROM audit_entry WHERE action = 'replay_withdrawn'").fetchone() is not None


@pytest.fixture
def ready_to_hand_in(tmp_path: Path) -> Path:
    """A folder with one attempt that only waits to be handed in."""
    scene = make_scene(tmp_path / "template")
    half_done(scene.store, scene.person, add(scene.store, scene.person))
    scene.store.close()
    return scene.folder


@pytest.fixture
def handed_in(tmp_path: Path) -> Path:
    """A folder with a photo of people and one attempt that was handed in."""
    scene = make_scene(tmp_path / "template")
    photo = add(scene.store, scene.person, consent_of(scene.clock))
    attempt = half_done(scene.store, scene.person, photo)
    hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="7")
    scene.store.close()
    return scene.folder


@pytest.fixture
def without_photos(tmp_path: Path) -> Path:
    """A folder in which nothing was stored yet."""
    scene = make_scene(tmp_path / "template")
    scene.store.close()
    return scene.folder


def test_handing_in_is_whole_or_not_at_all_when_killed_at_each_statement(
    ready_to_hand_in: Path, tmp_path: Path
) -> None:
    folders = run_nursery("hand_in", ready_to_hand_in, tmp_path / "out")
    assert_old_then_new(outcomes(folders, state_of_hand_in), least=12)


def test_handing_in_is_whole_or_not_at_all_when_killed_at_each_write_of_the_database(
    ready_to_hand_in: Path, tmp_path: Path, kill_shim: Path
) -> None:
    folders = run_nursery("hand_in", ready_to_hand_in, tmp_path / "out", kill_shim)
    assert_old_then_new(outcomes(folders, state_of_hand_in), least=4)


def test_a_photo_enters_whole_or_not_at_all_when_killed_at_each_statement_and_file_call(
    without_photos: Path, tmp_path: Path
) -> None:
    folders = run_nursery("add_photo", without_photos, tmp_path / "out")
    assert_old_then_new(outcomes(folders, state_of_add_photo), least=30)


def test_a_photo_enters_whole_or_not_at_all_when_killed_at_each_write_of_photo_and_database(
    without_photos: Path, tmp_path: Path, kill_shim: Path
) -> None:
    folders = run_nursery("add_photo", without_photos, tmp_path / "out", kill_shim)
    assert_old_then_new(outcomes(folders, state_of_add_photo), least=12)


def test_a_withdrawal_is_whole_or_not_at_all_when_killed_at_each_statement_and_file_call(
    handed_in: Path, tmp_path: Path
) -> None:
    folders = run_nursery("withdraw", handed_in, tmp_path / "out")
    assert_old_then_new(outcomes(folders, state_of_withdraw), least=20)
    assert any(completed_by_opening(folder) for folder in folders), "nobody was killed between journal and commit"


def test_a_withdrawal_is_whole_or_not_at_all_when_killed_at_each_write_of_the_database(
    handed_in: Path, tmp_path: Path, kill_shim: Path
) -> None:
    folders = run_nursery("withdraw", handed_in, tmp_path / "out", kill_shim)
    assert_old_then_new(outcomes(folders, state_of_withdraw), least=20)


def test_a_store_opens_again_after_being_killed_at_every_third_write_of_its_first_opening(
    tmp_path: Path, kill_shim: Path
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    folders = run_nursery("open", empty, tmp_path / "out", kill_shim, stride=3)
    assert len(folders) >= 10
    for folder in folders:
        scene = make_scene(folder)
        add(scene.store, scene.person)
        assert len(list_photos(scene.store, scene.person)) == 1
        scene.store.close()
