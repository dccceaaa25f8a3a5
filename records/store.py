"""The store: the data folder and its database, opened once and shared by all threads.

Every writing transaction takes the write lock when it begins, so that it never has to give up half-way
because another one was faster, and so that opening a store never sweeps away the files of a photo on its way in.
"""

import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Self

from platformdirs import user_data_path
from sqlalchemy import URL, Engine, make_url
from sqlalchemy.orm import Session

from records.consent.journal import JOURNAL_VARIABLE, Journal, journal_folder
from records.errors import StorageFault
from records.photo.photo_files import KeptFiles, PhotoFiles, reason
from records.photo.remote_files import RemoteFiles
from records.storage import schema
from records.storage.database import FileMark, engine_for
from records.storage.disk import Disk, LocalDisk
from records.storage.faults import BUSY, in_one_sentence
from records.storage.steady_clock import SteadyClock
from records.storage.sweep import Sweep, there
from records.storage.unfinished import check_finished

FOLDER_VARIABLE = "LATCH_AND_LINE_DATA"
DATABASE_VARIABLE = "LATCH_AND_LINE_DATABASE"
PHOTOS_VARIABLE = "LATCH_AND_LINE_PHOTOS"
DATABASE_NAME = "records.sqlite3"
#: How long a thread waits for the other threads of this process, each of which is done in some milliseconds.
LONGEST_QUEUE_SECONDS = 60.0


def utc_now() -> datetime:
    """The present moment."""
    return datetime.now(UTC)


class Store:
    """The data folder and its database; safe to share between threads.

    Attributes
    ----------
    folder : Path
        The data folder.
    engine, writer : Engine
        Two views of one pool; transactions of `writer` begin with the write lock.
    place : URL
        Where the database is.
    files, scans : KeptFiles
        Photos; scans of consent forms.
    journal : Journal
        What must stay gone, kept outside the data folder.
    sweep : Sweep
        What opening found in the photo folder.
    now : callable
        The present moment, with a time zone; it never goes back (`records.storage.steady_clock`).
    """

    def __init__(self, *, folder: Path, engine: Engine, disk: Disk, now: Callable[[], datetime]) -> None:
        self.folder = folder
        self.place = engine.url
        self.engine = engine
        self.writer = engine.execution_options(takes_write_lock=True)
        self.files = photo_files_of(folder, disk)
        self.scans: KeptFiles = PhotoFiles(
            folder / "consent_scans", disk, endings=("pdf", "jpg", "png"), what="consent form"
        )
        self.journal = Journal(journal_folder(folder), disk)
        self.now: Callable[[], datetime] = now
        self.sweep = Sweep()
        self._database: FileMark | None = None
        self._revision = ""
        self._turn = threading.Lock()

    @classmethod
    def open(
        cls,
        folder: Path | None = None,
        url: str | None = None,
        *,
        now: Callable[[], datetime] = utc_now,
        disk: Disk | None = None,
        busy_seconds: float = 10.0,
    ) -> Self:
        """Open the store, creating and migrating what is needed.

        Parameters
        ----------
        folder : Path or None
            Data folder; by default what LATCH_AND_LINE_DATA names, else the user's own data folder.
        url : str or None
            Another database, as SQLAlchemy writes it, such as postgresql+psycopg://name@host/database; by default
            what LATCH_AND_LINE_DATABASE says, else a SQLite file in the folder.
        now, disk
            The clock and the disk; a test hands in its own.
        busy_seconds : float
            How long to wait for another process that writes before giving up.

        Raises
        ------
        StorageFault
            Where the folder or the database cannot be used.
        """
        folder = _usable(folder or default_folder())
        place = database_url(folder, url)
        store = cls(folder=folder, engine=engine_for(place, busy_seconds), disk=disk or LocalDisk(), now=now)
        try:
            with in_one_sentence():
                check_finished(store.engine, folder)
                store._revision = schema.upgrade(store.writer, before_first=store._check_nothing_kept)
            store._database = FileMark.of(place)
            store.now = SteadyClock(now, _newest_moment(store))
            store.sweep = _settle(store)
            store.forget_deleted()
        except BaseException:
            store.close()
            raise
        return store

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A short transaction that sees one state of the records."""
        self._check_there()
        with in_one_sentence(), Session(self.engine) as session, session.begin():
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A short transaction that is the only one to write; all of it is kept, or nothing after an error."""
        self._check_there()
        with (
            self._own_turn(),
            in_one_sentence(),
            Session(self.writer, expire_on_commit=False) as session,
            session.begin(),
        ):
            connection = session.connection()
            if self._revision:
                schema.check_unchanged(connection, self._revision)
            yield session

    @contextmanager
    def _own_turn(self) -> Iterator[None]:
        """Let the threads of this process write one after the other: SQLite lets some of many waiters starve."""
        if self.engine.dialect.name != "sqlite":
            yield
            return
        if not self._turn.acquire(timeout=LONGEST_QUEUE_SECONDS):
            raise StorageFault(BUSY)
        try:
            yield
        finally:
            self._turn.release()

    def _check_nothing_kept(self) -> None:
        for files in (self.files, self.scans):
            if there(files):
                raise StorageFault(
                    f"There are files in {files.place} and no records that name them; please put the database back or "
                    "restore a backup, or name an empty data folder, since files without a record would be deleted."
                )

    def _check_there(self) -> None:
        if self._database is not None and not self._database.is_there():
            raise StorageFault(
                "The data folder is no longer where it was, so nothing was read or saved; "
                "please put it back or start this program again."
            )

    @property
    def clock_behind(self) -> timedelta:
        """How far the computer's clock is behind the newest moment on record; nothing where it is not."""
        return self.now.behind if isinstance(self.now, SteadyClock) else timedelta(0)

    def today(self) -> date:
        """The day on this computer's calendar."""
        return self.now().astimezone().date()

    def forget_deleted(self) -> None:
        """Take deleted rows out of SQLite's log as well; readers under way may put it off to the next time."""
        if self.engine.dialect.name == "sqlite":
            try:
                with in_one_sentence(), self.engine.connect() as connection:
                    cursor = connection.connection.cursor()
                    cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
                    cursor.close()
            except StorageFault as fault:
                # It comes after the commit: to say here that nothing was saved would not be true.
                raise StorageFault(
                    "All is saved, but what was deleted is not wiped from the database's log yet; please check that the "
                    "data folder can be written and has space, and start this program again."
                ) from fault

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()


def default_folder() -> Path:
    """What LATCH_AND_LINE_DATA names, else the user's own data folder."""
    named = os.environ.get(FOLDER_VARIABLE, "").strip()
    return Path(named).expanduser() if named else user_data_path("latch-and-line", appauthor=False)


def database_url(folder: Path, url: str | None = None) -> URL:
    """The given database, else what LATCH_AND_LINE_DATABASE says, else a SQLite file in the folder."""
    url = url or os.environ.get(DATABASE_VARIABLE, "").strip()
    return make_url(url) if url else URL.create("sqlite", database=str(folder / DATABASE_NAME))


def _usable(folder: Path) -> Path:
    """The folder, made where it is not there yet, for this user's eyes only."""
    folder = folder.absolute()
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name in ("photos", "consent_scans"):
            (folder / name).mkdir(mode=0o700, exist_ok=True)
    except OSError as error:
        raise StorageFault(
            f"The data folder {folder} cannot be used ({reason(error)}); {FOLDER_VARIABLE} can name another."
        ) from error
    kept_apart = journal_folder(folder)
    try:
        kept_apart.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise StorageFault(
            f"The folder {kept_apart} for the journal of withdrawals cannot be used ({reason(error)}); "
            f"{JOURNAL_VARIABLE} can name another."
        ) from error
    return folder


def photo_files_of(folder: Path, disk: Disk) -> KeptFiles:
    """Where the photos lie: in the data folder, or in the folder or at the URL that LATCH_AND_LINE_PHOTOS names.

    Raises
    ------
    StorageFault
        Where that place cannot be used.
    """
    named = os.environ.get(PHOTOS_VARIABLE, "").strip()
    if "://" in named and not named.startswith("file://"):
        return RemoteFiles(named)
    if not named:
        return PhotoFiles(folder / "photos", disk)
    place = Path(named.removeprefix("file://")).expanduser().absolute()
    try:
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise StorageFault(
            f"The folder {place} for photos cannot be used ({reason(error)}); {PHOTOS_VARIABLE} can name another."
        ) from error
    return PhotoFiles(place, disk)


def _newest_moment(store: Store) -> datetime | None:
    from records.auditing.newest_moment import newest_moment

    with store.reading() as session:
        return newest_moment(session)


def _settle(store: Store) -> Sweep:
    # What it needs is built upon stores, so it can only be found once this module is there.
    from records.storage.opening import settle

    return settle(store)
