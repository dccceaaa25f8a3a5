"""Restoring a backup: checked first, into an empty place only, and without what was withdrawn since."""

import secrets
import shutil
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import URL, create_engine, func, inspect, select

from records.consent.journal import JOURNAL_VARIABLE, Journal, journal_folder
from records.errors import BackupRefused, StorageFault
from records.models import PhotoRow
from records.photo.photo_files import KeptFiles, PhotoFiles, reason
from records.safekeeping import postgres_tools
from records.safekeeping.backup_form import PHOTOS, POSTGRESQL, SCANS, SQLITE, Manifest, OpenBackup, opened_backup
from records.safekeeping.leftovers import clear_after_restores, restore_name
from records.safekeeping.restored_mark import leave_mark
from records.storage import unfinished
from records.storage.disk import LocalDisk
from records.storage.faults import in_one_sentence
from records.store import PHOTOS_VARIABLE, Store, database_url, photo_files_of, utc_now


@dataclass(frozen=True, kw_only=True)
class Restored:
    """What a restore brought back, and how many photos the journal took out again at once."""

    folder: Path
    made_at: str
    n_photos: int
    n_withdrawn_again: int
    missing: tuple[str, ...]


def restore_backup(
    source: Path, folder: Path, *, without_journal: bool = False, now: Callable[[], datetime] = utc_now
) -> Restored:
    """Bring a backup back.

    Parameters
    ----------
    source : Path
        A backup that `records.safekeeping.backup` made.
    folder : Path
        The data folder; not there yet, or empty. Records in PostgreSQL go to the empty database that
        LATCH_AND_LINE_DATABASE names.
    without_journal : bool
        Restore although the journal of withdrawals ends before the backup was made, so that what was withdrawn since
        cannot be known.

    Raises
    ------
    BackupRefused
        In one sentence: damaged, from a newer version, no empty place, no journal. Nothing was changed then.
    StorageFault
    """
    folder = folder.expanduser().absolute()
    with opened_backup(source) as backup:
        url = _place_for(backup.manifest, folder)
        photos = photo_files_of(folder, LocalDisk())
        _check_empty(folder, url, photos)
        _check_journal(Journal(journal_folder(folder), LocalDisk()), backup.manifest, without_journal)
        _bring_back(backup, folder, url, photos)
    store = Store.open(folder, now=now)
    try:
        return _noted(store, backup.manifest)
    finally:
        store.close()


def _place_for(manifest: Manifest, folder: Path) -> URL:
    url = database_url(folder)
    kinds = {"sqlite": SQLITE, "postgresql": POSTGRESQL}
    if kinds.get(url.get_backend_name()) != manifest.database:
        here, there = ("SQLite", "PostgreSQL") if manifest.database == POSTGRESQL else ("PostgreSQL", "SQLite")
        raise BackupRefused(
            f"This backup holds records of {there} and this installation keeps them in {here}; "
            "LATCH_AND_LINE_DATABASE says which."
        )
    return url


def _check_empty(folder: Path, url: URL, photos: KeptFiles) -> None:
    taken = "so nothing was restored; please name an empty place, or move what is there away."
    try:
        if folder.exists() and (not folder.is_dir() or not all(path.is_dir() for path in folder.rglob("*"))):
            raise BackupRefused(f"The folder {folder} is not empty, {taken}")
        if not _inside(photos, folder) and photos.names():
            raise BackupRefused(f"There are photos in {photos.place} already, which {PHOTOS_VARIABLE} names, {taken}")
    except OSError as error:
        raise StorageFault(f"The place to restore to cannot be read: {reason(error)}.") from error
    if url.get_backend_name() == "sqlite":
        if Path(url.database or "").exists():
            raise BackupRefused(f"There is a database {url.database} already, {taken}")
        return
    engine = create_engine(url)
    try:
        with in_one_sentence():
            tables = inspect(engine).get_table_names()
    finally:
        engine.dispose()
    if tables and unfinished.TABLE not in tables:
        raise BackupRefused(f"The database {url.database} is not empty, {taken}")


def _check_journal(journal: Journal, manifest: Manifest, without_journal: bool) -> None:
    if without_journal or not manifest.journal_number:
        return
    known = {entry.number: entry.sha256 for entry in journal.entries()}
    if known.get(manifest.journal_number) != manifest.journal_sha256:
        raise BackupRefused(
            f"The journal of withdrawals in {journal.folder} ends before this backup was made, so withdrawn photos could "
            f"come back; please put the journal there (or name its folder in {JOURNAL_VARIABLE}), or say "
            "--without-journal where it is lost."
        )


def _inside(photos: KeptFiles, folder: Path) -> bool:
    return isinstance(photos, PhotoFiles) and photos.folder.is_relative_to(folder)


def _bring_back(backup: OpenBackup, folder: Path, url: URL, photos: KeptFiles) -> None:
    """Write everything beside the folder, then rename: a killed restore leaves the folder as it was."""
    clear_after_restores(folder)
    part, token = restore_name(folder), secrets.token_hex(16)
    try:
        _write_out(backup, part, inside=_inside(photos, folder))
        _bring_back_database(backup, part, folder, url, token)
        if not _inside(photos, folder):
            for name in backup.names(PHOTOS):
                photos.write(backup.read(f"{PHOTOS}/{name}"), name)
        leave_mark(part, token)
        LocalDisk().sync_folder(part)
        _remove_empty(folder)
        LocalDisk().rename(part, folder)
        LocalDisk().sync_folder(folder.parent)
    except OSError as error:
        raise StorageFault(f"The backup could not be restored to {folder}: {reason(error)}.") from error
    finally:
        with suppress(OSError):
            shutil.rmtree(part)


def _remove_empty(folder: Path) -> None:
    """Make way: a program that was started in between has left empty folders there, and files keep us from removing them."""
    if folder.exists():
        for path in sorted(folder.rglob("*"), reverse=True):
            path.rmdir()
        folder.rmdir()


def _write_out(backup: OpenBackup, part: Path, *, inside: bool) -> None:
    part.mkdir(mode=0o700, parents=True)
    for name in (PHOTOS, SCANS):
        (part / name).mkdir(mode=0o700)
    wanted = [f"{SCANS}/{name}" for name in backup.names(SCANS)]
    wanted += [f"{PHOTOS}/{name}" for name in backup.names(PHOTOS)] if inside else []
    for name in [*wanted, backup.manifest.database]:
        backup.copy(name, part / name)
    for place in (part / PHOTOS, part / SCANS, part):
        LocalDisk().sync_folder(place)


def _bring_back_database(backup: OpenBackup, part: Path, folder: Path, url: URL, token: str) -> None:
    file = part / backup.manifest.database
    if backup.manifest.database == POSTGRESQL:
        with in_one_sentence():
            unfinished.begin(url, token)
        postgres_tools.load(url, file)
        file.unlink()
        return
    wanted = Path(url.database or "")
    if wanted.parent != folder:
        shutil.move(file, wanted)


def _noted(store: Store, manifest: Manifest) -> Restored:
    with store.reading() as session:
        there = session.scalar(select(func.count()).select_from(PhotoRow).where(PhotoRow.removed_at.is_(None))) or 0
    n_held = sum(name.startswith(f"{PHOTOS}/") for name in manifest.files) // 2
    return Restored(
        folder=store.folder,
        made_at=manifest.made_at,
        n_photos=there,
        n_withdrawn_again=max(n_held - there, 0),
        missing=store.sweep.missing,
    )
