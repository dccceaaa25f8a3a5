"""The form of a backup, and what is checked before a byte of one is believed.

A backup is one zip. It holds the records as one file, photos and consent scans under their names, and

manifest.json   format and version, when it was made, which database and which step of its tables, how far the journal
                of withdrawals reached, and length and SHA-256 of every other file

The journal is not in it: it must outlive every copy that could bring a withdrawn photo back.
"""

import hashlib
import json
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import BinaryIO, Self

from alembic.script import ScriptDirectory

from records.errors import BackupRefused
from records.storage import schema

FORMAT, FORMAT_VERSION = "latch-and-line-backup", 1
MANIFEST = "manifest.json"
SQLITE, POSTGRESQL = "records.sqlite3", "records.pgdump"
PHOTOS, SCANS = "photos", "consent_scans"
_NAMES = re.compile(
    rf"{re.escape(SQLITE)}|{re.escape(POSTGRESQL)}|{PHOTOS}/[0-9a-f]{{32}}\.jpg|{SCANS}/[0-9a-f]{{32}}\.(?:pdf|jpg|png)"
)
#: Enough for a hundred thousand photos, and little enough to be held in memory as JSON.
_MAX_MANIFEST_BYTES = 16 * 2**20
_PACKINGS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_NO_BACKUP = "The backup is damaged, or no backup of this program."
CHUNK = 2**20


@dataclass(frozen=True, kw_only=True)
class Held:
    """A file in a backup: its length in bytes and its SHA-256, 64 hexadecimal digits."""

    size: int
    sha256: str


@dataclass(frozen=True, kw_only=True)
class Manifest:
    """What a backup says of itself; `journal_number` and `journal_sha256` are the journal's last line then (0: none)."""

    made_at: str
    revision: str
    journal_number: int
    journal_sha256: str
    files: dict[str, Held]

    @property
    def database(self) -> str:
        """Which of the two files of records it holds."""
        return SQLITE if SQLITE in self.files else POSTGRESQL

    def to_bytes(self) -> bytes:
        """manifest.json."""
        said = {"format": FORMAT, "format_version": FORMAT_VERSION, **asdict(self)}
        return json.dumps(said, indent=1, sort_keys=True).encode("ascii")

    @classmethod
    def from_bytes(cls, data: bytes) -> Self:
        """Read it back. Raises BackupRefused."""
        try:
            said = json.loads(data)
            if said.pop("format") != FORMAT:
                raise BackupRefused("This is no backup of this program.")
            if said.pop("format_version") != FORMAT_VERSION:
                raise BackupRefused(
                    "This backup was made by a newer version of this program; please restore with that."
                )
            files = {name: Held(**held) for name, held in said.pop("files").items()}
            made = cls(files=files, **said)
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
            raise BackupRefused("The backup is damaged: its manifest cannot be read.") from error
        made._check()
        return made

    def _check(self) -> None:
        texts = (self.made_at, self.revision, self.journal_sha256, *(held.sha256 for held in self.files.values()))
        numbers = (self.journal_number, *(held.size for held in self.files.values()))
        if not (
            all(isinstance(one, str) for one in texts) and all(isinstance(one, int) and one >= 0 for one in numbers)
        ):
            raise BackupRefused("The backup is damaged: its manifest cannot be read.")
        if not all(_NAMES.fullmatch(name) for name in self.files) or len({SQLITE, POSTGRESQL} & set(self.files)) != 1:
            raise BackupRefused("The backup is damaged: its manifest names files that no backup holds.")
        known = {step.revision for step in ScriptDirectory.from_config(schema.config()).walk_revisions()}
        if self.revision not in known:
            raise BackupRefused("This backup was made by a newer version of this program; please restore with that.")


class OpenBackup:
    """A backup whose every file was checked."""

    def __init__(self, packed: zipfile.ZipFile, manifest: Manifest) -> None:
        self._packed = packed
        self.manifest = manifest

    def names(self, folder: str) -> list[str]:
        """The files in one of its folders, without the folder."""
        return sorted(name.removeprefix(f"{folder}/") for name in self.manifest.files if name.startswith(f"{folder}/"))

    def read(self, name: str) -> bytes:
        """A file, checked against its hash. Raises BackupRefused."""
        data = b"".join(self._pieces(name))
        self._compare(name, hashlib.sha256(data).hexdigest())
        return data

    def copy(self, name: str, to: Path) -> None:
        """Write a file out, checked against its hash. Raises BackupRefused, OSError."""
        found = hashlib.sha256()
        with to.open("xb") as file:
            for piece in self._pieces(name):
                found.update(piece)
                file.write(piece)
        self._compare(name, found.hexdigest())

    def check(self) -> None:
        """Read all of it once. Raises BackupRefused at the first file that is not what the manifest says."""
        if sorted(self._packed.namelist()) != sorted([MANIFEST, *self.manifest.files]):
            raise BackupRefused("The backup is damaged: it does not hold the files that its manifest names.")
        for name in self.manifest.files:
            found = hashlib.sha256()
            for piece in self._pieces(name):
                found.update(piece)
            self._compare(name, found.hexdigest())

    def _pieces(self, name: str) -> Iterator[bytes]:
        """The file in pieces, never further than the manifest says that it is long."""
        left = self.manifest.files[name].size
        with self._packed.open(name) as file:
            while piece := file.read(CHUNK):
                left -= len(piece)
                if left < 0:
                    raise BackupRefused(f"The backup is damaged: {_plain(name)} is longer than its manifest says.")
                yield piece
        if left:
            raise BackupRefused(f"The backup is damaged: {_plain(name)} is cut short.")

    def _compare(self, name: str, sha256: str) -> None:
        if sha256 != self.manifest.files[name].sha256:
            raise BackupRefused(f"The backup is damaged: {_plain(name)} is not what its manifest says.")


@contextmanager
def opened_backup(source: Path) -> Iterator[OpenBackup]:
    """Open a backup and check all of it. Raises BackupRefused in one sentence, before anything is written anywhere."""
    try:
        with source.open("rb") as file, _checked(file) as backup:
            yield backup
    except FileNotFoundError as error:
        raise BackupRefused(f"There is no backup at {source}.") from error


@contextmanager
def _checked(file: BinaryIO) -> Iterator[OpenBackup]:
    """The zip in an open file, read to its end once. What is not ours makes the reader raise almost anything."""
    try:
        packed = zipfile.ZipFile(file)
        if any(info.compress_type not in _PACKINGS for info in packed.infolist()):
            raise BackupRefused(_NO_BACKUP)
        backup = OpenBackup(packed, Manifest.from_bytes(_manifest(packed)))
        backup.check()
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError, OverflowError) as error:
        raise BackupRefused(_NO_BACKUP) from error
    with packed:
        yield backup


def _manifest(packed: zipfile.ZipFile) -> bytes:
    if MANIFEST not in packed.namelist():
        raise BackupRefused("This is no backup of this program.")
    with packed.open(MANIFEST) as file:
        data = file.read(_MAX_MANIFEST_BYTES + 1)
    if len(data) > _MAX_MANIFEST_BYTES:
        raise BackupRefused("The backup is damaged: its manifest cannot be read.")
    return data


def hash_of(file: BinaryIO) -> Held:
    """Length and hash of an open file, from where it stands to its end."""
    found, size = hashlib.sha256(), 0
    while piece := file.read(CHUNK):
        found.update(piece)
        size += len(piece)
    return Held(size=size, sha256=found.hexdigest())


def _plain(name: str) -> str:
    """What a message calls a file."""
    return "the file of the records" if name in (SQLITE, POSTGRESQL) else name
