"""Does one thing again and again in forked children, each killed a stride later than the one before, until one lives.

    nursery.py ACTION TEMPLATE OUT STRIDE [SHIM]

Child n (1, 1 + STRIDE, ...) is killed at step n and works on OUT/n, a copy of the folder TEMPLATE. Without SHIM a step
is what happens before or after an SQL statement, a commit, or a call of `records.storage.disk`. With SHIM (a preloaded library,
`kill_shim.c`) a step is a write, sync, rename or removal that any library in the process asks the system for; a write
is cut in half. The number of the child that lived is what is printed.
"""

import ctypes
import os
import shutil
import signal
import sys
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import psycopg
from bundle_scene import screen_copy
from records_scene import DOLL, MEASURES, START, add
from sqlalchemy import Engine, event, make_url

from records import teaching_sets as sets
from records.attempt.attempts import open_attempts
from records.attempt.handing_in import hand_in
from records.bundles import take_in
from records.classroom import assignments, classes
from records.consent.withdrawal import withdraw
from records.identity.people import Person, local_person
from records.photo.photos import list_photos
from records.safekeeping.backup import make_backup
from records.safekeeping.restoring import restore_backup
from records.storage.disk import LocalDisk
from records.store import DATABASE_VARIABLE, Store

MOST_STEPS = 2000
#: The address of a PostgreSQL server on which each child that restores gets a database of its own.
SERVER_VARIABLE = "NURSERY_SERVER"
SOON = "Week 3"


class Reaper:
    """Kills this process at the step it is told."""

    def __init__(self, step: int, shim: str | None) -> None:
        self._step = step
        self._shim = shim
        self._left: int | None = None

    def arm(self) -> None:
        if self._shim:
            ctypes.CDLL(self._shim).kill_at_step(ctypes.c_long(self._step))
        else:
            self._left = self._step

    def step(self, *_: object) -> None:
        if self._left is None:
            return
        self._left -= 1
        if self._left == 0:
            os.kill(os.getpid(), signal.SIGKILL)


class ReapingDisk:
    """The disk of this computer, with a step before and after each call."""

    def __init__(self, reaper: Reaper) -> None:
        self._disk = LocalDisk()
        self._reaper = reaper

    def __getattr__(self, name: str) -> Callable[..., object]:
        call = getattr(self._disk, name)

        def stepped(*arguments: object) -> object:
            self._reaper.step()
            result = call(*arguments)
            self._reaper.step()
            return result

        return stepped


def new_database(server: str, child: str) -> str:
    """Make an empty database for a child; returns its address."""
    url = make_url(server)
    name = f"{url.database}_{child}"
    with psycopg.connect(host=url.host, port=url.port, user=url.username, dbname="postgres", autocommit=True) as link:
        link.execute(f"CREATE DATABASE {name}".encode())
    return url.set(database=name).render_as_string(hide_password=False)


def act(action: str, folder: Path, reaper: Reaper) -> None:
    """Do the one thing, with the reaper armed for it alone."""
    if action == "restore":
        if SERVER_VARIABLE in os.environ:
            os.environ[DATABASE_VARIABLE] = new_database(os.environ[SERVER_VARIABLE], folder.name)
            _step_at_statements(Engine, reaper)
        reaper.arm()
        restore_backup(folder / "backup.zip", folder / "data", now=lambda: START)
        return
    if action == "open":
        _step_at_statements(Engine, reaper)
        reaper.arm()
    store = Store.open(folder, now=lambda: START, disk=ReapingDisk(reaper))
    if action != "open":
        prepared = ACTIONS[action](store, local_person(store), folder, reaper)
        _step_at_statements(store.engine, reaper)
        reaper.arm()
        prepared()
    reaper.step()


def _step_at_statements(target: object, reaper: Reaper) -> None:
    for name in ("before_cursor_execute", "after_cursor_execute", "commit", "rollback"):
        event.listen(target, name, reaper.step)


def _hand_in(store: Store, person: Person, _folder: Path, _reaper: Reaper) -> Callable[[], object]:
    [attempt] = open_attempts(store, person)
    return lambda: hand_in(
        store, person, attempt.id, measures_json=MEASURES, measure_version="7", checklist_version="3"
    )


def _add_photo(store: Store, person: Person, _folder: Path, _reaper: Reaper) -> Callable[[], object]:
    return lambda: add(store, person, DOLL)


def _withdraw(store: Store, person: Person, _folder: Path, _reaper: Reaper) -> Callable[[], object]:
    [photo] = list_photos(store, person)
    return lambda: withdraw(store, person, photo.consent_id)


def _publish(store: Store, person: Person, _folder: Path, _reaper: Reaper) -> Callable[[], object]:
    [listed] = sets.list_sets(store, person)
    assert listed.draft is not None
    draft = sets.get_version(store, person, listed.draft.id)
    return lambda: sets.publish(store, person, draft.id, expected_revision=draft.revision, checklist_version="3")


def _give(store: Store, person: Person, _folder: Path, _reaper: Reaper) -> Callable[[], object]:
    [group] = classes.list_classes(store, person)
    [before] = assignments.list_assignments(store, person, group.id)
    return lambda: assignments.give(store, person, group.id, before.version_id, title=SOON, hidden_repeat=True)


def _take_in(store: Store, person: Person, folder: Path, _reaper: Reaper) -> Callable[[], object]:
    bundle = BytesIO((folder / "bundle.zip").read_bytes())
    return lambda: take_in(store, person, bundle, screen_copy=screen_copy)


def _backup(store: Store, _person: Person, folder: Path, reaper: Reaper) -> Callable[[], object]:
    return lambda: make_backup(store, folder / "backup.zip", disk=ReapingDisk(reaper))


#: Each looks up what it needs, unharmed, and gives what is then done with the reaper armed.
ACTIONS: dict[str, Callable[[Store, Person, Path, Reaper], Callable[[], object]]] = {
    "hand_in": _hand_in,
    "add_photo": _add_photo,
    "withdraw": _withdraw,
    "publish": _publish,
    "give": _give,
    "take_in": _take_in,
    "backup": _backup,
}


def main(action: str, template: str, out: str, stride: str, shim: str | None = None) -> None:
    """Fork children until one lives."""
    for step in range(1, MOST_STEPS, int(stride)):
        folder = Path(out) / str(step)
        shutil.copytree(template, folder)
        child = os.fork()
        if child == 0:
            try:
                act(action, folder, Reaper(step, shim))
            except BaseException as error:
                print(repr(error), file=sys.stderr, flush=True)  # noqa: T201
                os._exit(1)
            os._exit(0)
        _, status = os.waitpid(child, 0)
        if not os.WIFSIGNALED(status):
            assert os.waitstatus_to_exitcode(status) == 0, f"child {step} ended by itself"
            print(step)  # noqa: T201
            return
        assert os.WTERMSIG(status) == signal.SIGKILL
    raise SystemExit("no child lived")


if __name__ == "__main__":
    main(*sys.argv[1:])
