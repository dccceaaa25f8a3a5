"""The journal of withdrawals: what must stay gone, whatever copy of the records comes back.

It lies outside the data folder and outside every backup. Before a withdrawal is committed, a line for it is on the
disk; whatever records are opened later lose again what the journal says is gone. Lines hold ids only. Each carries
the hash of the line before it and the place of the audit log at that moment, so that a log which was cut off is told.

    {"number": 3, "at": "...", "kind": "withdrawn", "object_id": "...", "audit_number": 41, "audit_sha256": "...",
     "previous_sha256": "...", "sha256": "..."}
"""

import hashlib
import json
import os
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path

from records.errors import StorageFault
from records.photo.photo_files import reason
from records.storage.disk import Disk, write_all

JOURNAL_VARIABLE = "LATCH_AND_LINE_JOURNAL"
FILE_NAME = "journal.jsonl"
FIRST = "0" * 64


class Kind(StrEnum):
    """What a line says: of a consent, a photo, a person, a class, or of the records as a whole (object_id None)."""

    WITHDRAWN = "withdrawn"
    PHOTO_REMOVED = "photo_removed"
    PERSON_ERASED = "person_erased"
    CLASS_ERASED = "class_erased"
    LOG_SEEN = "log_seen"
    RESTORED = "restored"


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One line; `audit_number` and `audit_sha256` are the last line of the audit log at that moment (0: none)."""

    number: int
    at: datetime
    kind: Kind
    object_id: str | None
    audit_number: int
    audit_sha256: str
    previous_sha256: str
    sha256: str


@dataclass(frozen=True, kw_only=True)
class JournalCheck:
    """What checking the chain found: how many lines hold together, and the first that does not (None: all do)."""

    n_entries: int
    broken_at: int | None
    last_sha256: str


class Journal:
    """The journal in one folder, reached through a disk; whoever adds to it holds the lock of the records."""

    def __init__(self, folder: Path, disk: Disk) -> None:
        self.folder = folder
        self.file = folder / FILE_NAME
        self._disk = disk

    def entries(self) -> tuple[Entry, ...]:
        """All lines that can be read, in order. Raises StorageFault where the file cannot be read."""
        return tuple(entry for line in self._whole_lines() if (entry := _read(line)) is not None)

    def check(self) -> JournalCheck:
        """Read all of it and check every number and every hash."""
        previous, number = FIRST, 0
        for line in self._whole_lines():
            entry = _read(line)
            if (
                entry is None
                or (entry.number, entry.previous_sha256) != (number + 1, previous)
                or _hash(entry) != entry.sha256
            ):
                return JournalCheck(n_entries=number, broken_at=number + 1, last_sha256=previous)
            number, previous = entry.number, entry.sha256
        return JournalCheck(n_entries=number, broken_at=None, last_sha256=previous)

    def append(self, *, at: datetime, kind: Kind, object_id: str | None, audit_number: int, audit_sha256: str) -> Entry:
        """Add a line and wait until the disk has it. Raises StorageFault; then nothing may be taken as withdrawn."""
        data = self._bytes()
        whole = data[: data.rfind(b"\n") + 1]
        known = [entry for line in whole.splitlines() if (entry := _read(line)) is not None]
        number, previous = (known[-1].number + 1, known[-1].sha256) if known else (1, FIRST)
        unsealed = Entry(
            number=number,
            at=at.astimezone(UTC),
            kind=kind,
            object_id=object_id,
            audit_number=audit_number,
            audit_sha256=audit_sha256,
            previous_sha256=previous,
            sha256="",
        )
        entry = Entry(**{**asdict(unsealed), "sha256": _hash(unsealed)})
        try:
            self._write(_line(entry), whole=len(whole), torn=len(whole) != len(data), first=not data)
        except OSError as error:
            raise StorageFault(
                f"The journal of withdrawals in {self.folder} cannot be written ({reason(error)}), so nothing was "
                f"changed; {JOURNAL_VARIABLE} can name another folder."
            ) from error
        return entry

    def _write(self, line: bytes, *, whole: int, torn: bool, first: bool) -> None:
        file = self._disk.append(self.file)
        try:
            if torn:
                # A line that was cut off by a crash never counted: what it was for was not committed.
                self._disk.shorten(file, whole)
            write_all(self._disk, file, line)
        finally:
            self._disk.close(file)
        if first:
            self._disk.sync_folder(self.folder)

    def _bytes(self) -> bytes:
        try:
            return self.file.read_bytes()
        except FileNotFoundError:
            return b""
        except OSError as error:
            raise StorageFault(
                f"The journal of withdrawals in {self.folder} cannot be read: {reason(error)}."
            ) from error

    def _whole_lines(self) -> list[bytes]:
        data = self._bytes()
        return data[: data.rfind(b"\n") + 1].splitlines()


def journal_folder(data_folder: Path) -> Path:
    """What LATCH_AND_LINE_JOURNAL names, else a folder beside the data folder."""
    named = os.environ.get(JOURNAL_VARIABLE, "").strip()
    return Path(named).expanduser().absolute() if named else data_folder.with_name(f"{data_folder.name}-journal")


def _line(entry: Entry) -> bytes:
    return json.dumps({**asdict(entry), "at": entry.at.isoformat()}).encode("ascii") + b"\n"


def _hash(entry: Entry) -> str:
    said = {**asdict(entry), "at": entry.at.astimezone(UTC).isoformat()}
    del said["sha256"]
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode("ascii")).hexdigest()


def _read(line: bytes) -> Entry | None:
    try:
        said = json.loads(line)
        return Entry(**{**said, "at": datetime.fromisoformat(said["at"]), "kind": Kind(said["kind"])})
    except (ValueError, TypeError, KeyError):
        return None
