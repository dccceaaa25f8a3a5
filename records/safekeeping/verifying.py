"""Checking that what is kept is what was put there: logs, files, stored JSON, links between records."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from records.auditing.audit import check_chain
from records.consent.for_good import sha256_of_line
from records.consent.journal import Kind
from records.errors import RecordsError
from records.models import ExpertKeyRow, KeyRow, PhotoRow, PointsRow, ScanRow, SetPhotoRow, SheetRow, VersionRow
from records.photo.photo_files import KeptFiles, StoredFile
from records.photo.pictures import files_of
from records.store import Store
from records.teaching_sets.seal import seal_of
from rubric.errors import RubricError
from rubric.scoring import key_from_json, sheet_from_json
from vision.errors import VisionError
from vision.landmark_files import landmarks_from_json


@dataclass(frozen=True, kw_only=True)
class Verified:
    """How much was looked at, and every fault found, a sentence each, with ids only."""

    n_log_lines: int
    n_journal_lines: int
    n_photos: int
    n_scans: int
    n_keys: int
    faults: tuple[str, ...]


def verify(store: Store) -> Verified:
    """Read everything once. Raises StorageFault only where the records cannot be read at all."""
    log, journal = check_chain(store), store.journal.check()
    faults: list[str] = []
    if log.broken_at is not None:
        faults.append(f"The audit log was changed at line {log.broken_at}.")
    if journal.broken_at is not None:
        faults.append(f"The journal of withdrawals was changed at line {journal.broken_at}.")
    with store.reading() as session:
        faults += _log_against_journal(store, session)
        photos = [stored for row in _there(session) for stored in files_of(row)]
        scans = [StoredFile(name=row.file_name, sha256=row.sha256) for row in session.scalars(select(ScanRow))]
        n_keys = len(session.scalars(select(KeyRow.photo_id)).all())
        faults += _stored_json(session)
        faults += _seals(session)
        faults += _links(store, session)
    faults += [*_files(store.files, photos), *_files(store.scans, scans)]
    return Verified(
        n_log_lines=log.n_entries,
        n_journal_lines=journal.n_entries,
        n_photos=len(photos) // 2,
        n_scans=len(scans),
        n_keys=n_keys,
        faults=tuple(faults),
    )


def _there(session: Session) -> list[PhotoRow]:
    return list(session.scalars(select(PhotoRow).where(PhotoRow.removed_at.is_(None)).order_by(PhotoRow.id)))


def _log_against_journal(store: Store, session: Session) -> Iterator[str]:
    """The log must still hold every line that the journal saw since the last restore."""
    entries = store.journal.entries()
    restores = [at for at, entry in enumerate(entries) if entry.kind == Kind.RESTORED]
    for entry in entries[restores[-1] if restores else 0 :]:
        if entry.audit_number and sha256_of_line(session, entry.audit_number) != entry.audit_sha256:
            yield (
                f"The audit log does not hold line {entry.audit_number} as the journal saw it: lines were cut off or "
                "changed, or an older copy of the records was put in place without `restore`."
            )
            return


def _files(files: KeptFiles, wanted: list[StoredFile]) -> Iterator[str]:
    for stored in wanted:
        try:
            files.read(stored)
        except RecordsError as fault:
            yield f"{stored.name}: {fault}"


#: Where answers and points are stored, and what must be able to read them.
_READERS: tuple[tuple[Any, str, Callable[[Any], object]], ...] = (
    (KeyRow, "answers", key_from_json),
    (KeyRow, "landmarks", landmarks_from_json),
    (ExpertKeyRow, "answers", key_from_json),
    (ExpertKeyRow, "landmarks", landmarks_from_json),
    (SetPhotoRow, "answers", key_from_json),
    (SetPhotoRow, "landmarks", landmarks_from_json),
    (SheetRow, "answers", sheet_from_json),
    (PointsRow, "landmarks", landmarks_from_json),
    (PhotoRow, "proposed_landmarks", landmarks_from_json),
)


def _stored_json(session: Session) -> Iterator[str]:
    for table, column, read in _READERS:
        for row in session.scalars(select(table).execution_options(yield_per=500)):
            value = getattr(row, column)
            if value is None:
                continue
            try:
                read(value)
            except (RubricError, VisionError, ValueError, TypeError, KeyError, AttributeError) as fault:
                yield f"{table.__tablename__} {'/'.join(_identity(row))}, {column}: cannot be read ({fault})."


def _identity(row: Any) -> list[str]:
    return [str(getattr(row, column.key)) for column in row.__mapper__.primary_key]


def _seals(session: Session) -> Iterator[str]:
    for version in session.scalars(select(VersionRow).where(VersionRow.seal.is_not(None))):
        found = seal_of(version)
        if found is not None and found != version.seal:
            yield f"set_version {version.id}: it was changed after it was published."


def _links(store: Store, session: Session) -> Iterator[str]:
    """PostgreSQL holds links between records at every moment; SQLite can be asked."""
    if store.engine.dialect.name != "sqlite":
        return
    for table, row, parent, _ in session.execute(text("PRAGMA foreign_key_check")):
        yield f"{table}, row {row}: names a record in {parent} that is not there."
    for (said,) in session.execute(text("PRAGMA integrity_check")):
        if said != "ok":
            yield f"The database's own check: {said}."
