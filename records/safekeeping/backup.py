"""Making a backup while the program is in use: records, photos and consent scans, in one file with checksums."""

import os
import shutil
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from sqlalchemy import URL, create_engine, select, text
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.errors import InvalidRecord, StorageFault
from records.models import PhotoRow, ScanRow
from records.photo.photo_files import KeptFiles, StoredFile, reason
from records.photo.pictures import files_of
from records.safekeeping import postgres_tools
from records.safekeeping.backup_form import MANIFEST, PHOTOS, POSTGRESQL, SCANS, SQLITE, Held, Manifest, hash_of
from records.safekeeping.leftovers import backup_names, clear_after_backups
from records.storage.disk import Disk, LocalDisk
from records.storage.faults import in_one_sentence
from records.storage.schema import newest_revision
from records.store import Store


@dataclass(frozen=True, kw_only=True)
class BackupMade:
    """A backup that was made; `left_out` says in sentences which files could not be read and are not in it."""

    path: Path
    n_photos: int
    n_scans: int
    n_bytes: int
    left_out: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Found:
    """The records of one moment as a file, and the files that they name."""

    file: Path
    name: str
    photos: list[StoredFile]
    scans: list[StoredFile]


@dataclass(kw_only=True)
class _Copied:
    files: dict[str, Held] = field(default_factory=dict)
    left_out: list[tuple[str, str]] = field(default_factory=list)


def make_backup(store: Store, destination: Path, *, disk: Disk | None = None) -> BackupMade:
    """Write a backup, under its name only once all of it is on the disk.

    Parameters
    ----------
    store : Store
        May be in use by others meanwhile.
    destination : Path
        A file that does not exist yet, or a folder, in which the file is named after the moment.
    disk : Disk
        Where to; a test hands in its own.

    Raises
    ------
    InvalidRecord
        Where there is such a file already.
    StorageFault
    """
    disk = disk or LocalDisk()
    target = _target(store, destination)
    place, part = backup_names(target.parent)
    clear_after_backups(target.parent)
    try:
        place.mkdir(mode=0o700)
        manifest, copied = _write(store, place, part)
        with part.open("rb") as whole:
            disk.sync(whole.fileno())
        disk.rename(part, target)
        disk.sync_folder(target.parent)
    except OSError as error:
        raise StorageFault(f"The backup could not be written to {target.parent}: {reason(error)}.") from error
    finally:
        shutil.rmtree(place, ignore_errors=True)
        with suppress(OSError):
            part.unlink(missing_ok=True)
    with store.writing() as session:
        append(store, session, actor_id=None, action="backup")
        # What was withdrawn meanwhile is rightly not in it.
        still = {stored.name for stored in (*_photos(session), *_scans(session))}
    return BackupMade(
        path=target,
        n_photos=sum(name.startswith(f"{PHOTOS}/") for name in manifest.files) // 2,
        n_scans=sum(name.startswith(f"{SCANS}/") for name in manifest.files),
        n_bytes=target.stat().st_size,
        left_out=tuple(f"{name}: {fault}" for name, fault in copied.left_out if name in still),
    )


def _target(store: Store, destination: Path) -> Path:
    destination = destination.expanduser().absolute()
    if destination.is_dir():
        destination = destination / f"latch-and-line-{store.now():%Y-%m-%dT%H%M%SZ}.zip"
    if destination.exists():
        raise InvalidRecord(f"There is a file {destination} already; please name another.")
    if not destination.parent.is_dir():
        raise InvalidRecord(f"There is no folder {destination.parent}; please make it first.")
    return destination


def _write(store: Store, place: Path, part: Path) -> tuple[Manifest, _Copied]:
    entries = store.journal.entries()
    number, sha256 = (entries[-1].number, entries[-1].sha256) if entries else (0, "")
    with _snapshot(store, place) as found, _new_private(part) as whole:
        copied = _Copied()
        with zipfile.ZipFile(whole, "w", zipfile.ZIP_STORED) as packed:
            with found.file.open("rb") as file:
                copied.files[found.name] = hash_of(file)
            packed.write(found.file, found.name, zipfile.ZIP_DEFLATED)
            _copy(store.files, PHOTOS, found.photos, packed, copied)
            _copy(store.scans, SCANS, found.scans, packed, copied)
            manifest = Manifest(
                made_at=store.now().isoformat(),
                revision=newest_revision(),
                journal_number=number,
                journal_sha256=sha256,
                files=copied.files,
            )
            packed.writestr(MANIFEST, manifest.to_bytes())
    return manifest, copied


def _new_private(path: Path) -> BinaryIO:
    return os.fdopen(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600), "w+b")


def _copy(files: KeptFiles, folder: str, wanted: list[StoredFile], packed: zipfile.ZipFile, copied: _Copied) -> None:
    for stored in wanted:
        try:
            data = files.read(stored)
        except StorageFault as fault:
            copied.left_out.append((stored.name, str(fault)))
            continue
        packed.writestr(f"{folder}/{stored.name}", data)
        copied.files[f"{folder}/{stored.name}"] = Held(size=len(data), sha256=stored.sha256)


@contextmanager
def _snapshot(store: Store, place: Path) -> Iterator[_Found]:
    if store.engine.dialect.name == "sqlite":
        file = place / SQLITE
        with in_one_sentence():
            _copy_sqlite(Path(store.place.database or ""), file)
        engine = create_engine(URL.create("sqlite", database=str(file)))
        try:
            with Session(engine) as session:
                found = _found(session, file, SQLITE)
        finally:
            engine.dispose()
        yield found
        return
    file = place / POSTGRESQL
    # The reading transaction keeps its state while the other program reads the same one.
    with store.reading() as session:
        snapshot = str(session.scalar(text("SELECT pg_export_snapshot()")))
        postgres_tools.dump(store.place, snapshot=snapshot, to=file)
        found = _found(session, file, POSTGRESQL)
    yield found


def _copy_sqlite(source: Path, to: Path) -> None:
    with closing(sqlite3.connect(source, timeout=60)) as live, closing(sqlite3.connect(to)) as copy:
        live.backup(copy)
        copy.execute("PRAGMA secure_delete = ON")
        for table in postgres_tools.LEFT_EMPTY:
            copy.execute(f"DELETE FROM {table}")
        copy.commit()
        # One file, without a log beside it.
        copy.execute("PRAGMA journal_mode = DELETE")


def _found(session: Session, file: Path, name: str) -> _Found:
    return _Found(file=file, name=name, photos=_photos(session), scans=_scans(session))


def _photos(session: Session) -> list[StoredFile]:
    rows = session.scalars(select(PhotoRow).where(PhotoRow.removed_at.is_(None)).order_by(PhotoRow.id))
    return [stored for row in rows for stored in files_of(row)]


def _scans(session: Session) -> list[StoredFile]:
    rows = session.scalars(select(ScanRow).order_by(ScanRow.consent_id))
    return [StoredFile(name=row.file_name, sha256=row.sha256) for row in rows]
