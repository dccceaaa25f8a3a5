"""A restore into PostgreSQL that is killed at any step leaves nothing or all, is never opened half, and can be done again."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from secrets import token_hex

import psycopg
import pytest
from killed import HERE, ROOT, assert_old_then_new, needs_signals, run_nursery
from nursery import SERVER_VARIABLE, new_database
from records_scene import POINTS, SHEET, START, add, consent_of, half_done, is_one_sentence, make_scene

from records.attempt.attempts import open_attempts
from records.auditing.audit import last_entries
from records.consent.journal import JOURNAL_VARIABLE, Kind
from records.consent.withdrawal import withdraw
from records.errors import BackupRefused, StorageFault
from records.identity.people import local_person
from records.models import ConsentRow
from records.photo.photos import list_photos
from records.safekeeping.backup import make_backup
from records.safekeeping.restoring import restore_backup
from records.safekeeping.verifying import verify
from records.store import DATABASE_VARIABLE, Store
from tests.postgres import Server

pytestmark = needs_signals


@pytest.fixture
def held(postgres: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Path, str]]:
    """A folder with a backup of two photos of people and a doll, one of them withdrawn since; a name for new databases."""
    name = f"killed_{token_hex(4)}"
    monkeypatch.setenv(SERVER_VARIABLE, postgres.url(name))
    monkeypatch.setenv(DATABASE_VARIABLE, new_database(postgres.url(name), "origin"))
    monkeypatch.setenv(JOURNAL_VARIABLE, str(tmp_path / "journal"))
    scene = make_scene(tmp_path / "origin")
    gone = add(scene.store, scene.person, consent_of(scene.clock), shade=30)
    add(scene.store, scene.person, consent_of(scene.clock))
    half_done(scene.store, scene.person, add(scene.store, scene.person))
    place = tmp_path / "held"
    place.mkdir()
    make_backup(scene.store, place / "backup.zip")
    withdraw(scene.store, scene.person, gone.consent_id)
    scene.store.close()
    yield place, name
    with psycopg.connect(
        host="127.0.0.1", port=postgres.port, user="postgres", dbname="postgres", autocommit=True
    ) as link:
        made = link.execute("SELECT datname FROM pg_database WHERE datname LIKE %s", [f"{name}%"]).fetchall()
    for (database,) in made:
        postgres.drop(database)


def check_whole(store: Store) -> None:
    """All came back but what was withdrawn since, and that it was restored is written down."""
    person = local_person(store)
    [attempt] = open_attempts(store, person)
    assert (attempt.sheet(1), attempt.landmarks(1)) == (SHEET, POINTS)
    assert len(list_photos(store, person)) == 2
    assert len(list((store.folder / "photos").iterdir())) == 4
    assert verify(store).faults == ()
    assert Kind.RESTORED in [entry.kind for entry in store.journal.entries()]
    with store.reading() as session:
        assert session.query(ConsentRow).filter(ConsentRow.withdrawn_on.is_not(None)).count() == 1
        assert "restore" in [entry.action for entry in last_entries(session, 50)]


def looked_at(children: list[Path], name: str, server: Server, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What each child left: "new" where all is there; else "old", and the backup is brought back over what lies there."""
    found = []
    for child in children:
        monkeypatch.setenv(DATABASE_VARIABLE, server.url(f"{name}_{child.name}"))
        into = child / "data"
        found.append("new" if into.exists() else "old")
        if not into.exists():
            if tables_of(server, f"{name}_{child.name}"):
                refused_to_open(into)
                found[-1] = "old, begun"
            restore_backup(child / "backup.zip", into, now=lambda: START)
        store = Store.open(into, now=lambda: START)
        check_whole(store)
        store.close()
        assert list(child.glob(".data*")) == []
        with pytest.raises(BackupRefused, match="not empty"):
            restore_backup(child / "backup.zip", into, now=lambda: START)
    return found


def refused_to_open(into: Path) -> None:
    """A database that a killed restore has begun to fill is not opened beside a folder without its photos."""
    with pytest.raises(StorageFault, match="restore the backup again") as refused:
        Store.open(into, now=lambda: START)
    assert is_one_sentence(refused.value)
    # Nothing came into the folder by trying.
    assert [path for path in into.rglob("*") if path.is_file()] == []


def tables_of(server: Server, database: str) -> int:
    with psycopg.connect(host="127.0.0.1", port=server.port, user="postgres", dbname=database) as link:
        row = link.execute("SELECT count(*) FROM pg_tables WHERE schemaname = 'public'").fetchone()
    assert row is not None
    return int(row[0])


@pytest.mark.parametrize("by_writes", [False, True], ids=["statements", "writes"])
def test_a_restore_killed_at_each_step_is_nothing_or_all_and_never_half(
    held: tuple[Path, str],
    tmp_path: Path,
    postgres: Server,
    monkeypatch: pytest.MonkeyPatch,
    request: pytest.FixtureRequest,
    by_writes: bool,
) -> None:
    shim = request.getfixturevalue("kill_shim") if by_writes else None
    place, name = held
    children = run_nursery("restore", place, tmp_path / "out", shim, stride=2 if by_writes else 7)
    found = looked_at(children, name, postgres, monkeypatch)
    assert not by_writes or "old, begun" in found, "nobody was killed between database and folder"
    assert_old_then_new([one.partition(",")[0] for one in found], least=6)


def test_a_restore_killed_with_postgresqls_own_program_at_any_moment_is_nothing_or_all(
    held: tuple[Path, str], tmp_path: Path, postgres: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    place, name = held
    backup = (place / "backup.zip").read_bytes()
    children, unmarked = [], 0
    for at in range(12):
        child = tmp_path / f"moment{at}"
        child.mkdir()
        (child / "backup.zip").write_bytes(backup)
        monkeypatch.setenv(DATABASE_VARIABLE, new_database(postgres.url(name), child.name))
        unmarked += not restore_cut_off_after(child, 0.02 * at)
        children.append(child)
    found = looked_at(children, name, postgres, monkeypatch)
    assert "old, begun" in found
    assert unmarked < len(children), "nobody was killed after the restore had begun"


def restore_cut_off_after(child: Path, seconds: float) -> bool:
    """Restore in a process group of its own, which is killed so long after it has begun to fill the database."""
    code = (
        "import sys; from pathlib import Path; from records_scene import START; "
        "from records.safekeeping.restoring import restore_backup; "
        "restore_backup(Path(sys.argv[1]) / 'backup.zip', Path(sys.argv[1]) / 'data', now=lambda: START)"
    )
    environment = {**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{HERE}"}
    process = subprocess.Popen([sys.executable, "-c", code, str(child)], env=environment, start_new_session=True)
    begun = time.monotonic()
    while process.poll() is None and not list(child.glob(".data.*.part/*pg*")) and time.monotonic() - begun < 60:
        time.sleep(0.005)
    time.sleep(seconds)
    was_running = process.poll() is None
    if was_running:
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    return was_running
