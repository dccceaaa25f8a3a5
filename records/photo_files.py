"""The folder of photo files: random names, written so that a file is there entirely or not at all."""

import hashlib
import re
import secrets
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from records.disk import Disk
from records.errors import StorageFault

# Only names of this form are ever removed: what a person puts into the folder is not ours to delete.
_OUR_NAMES = re.compile(r"[0-9a-f]{32}\.(?:jpg|part)")


@dataclass(frozen=True, kw_only=True)
class StoredFile:
    """A file in the folder: its random name and the SHA-256 of its bytes, 64 hexadecimal digits."""

    name: str
    sha256: str


class PhotoFiles:
    """The files in one folder, reached through a disk."""

    def __init__(self, folder: Path, disk: Disk) -> None:
        self.folder = folder
        self._disk = disk

    def write(self, data: bytes, name: str | None = None) -> StoredFile:
        """Store the bytes under a random name (or again under a name of ours) and wait until the disk has them.

        Raises
        ------
        StorageFault
            For a full disk or an unwritable folder; then no file is left behind.
        """
        name = name or f"{secrets.token_hex(16)}.jpg"
        target = self.folder / name
        part = target.with_suffix(".part")
        try:
            self._write_whole(part, data)
            self._disk.rename(part, target)
            self._disk.sync_folder(self.folder)
        except OSError as error:
            for path in (part, target):
                with suppress(OSError):
                    self._disk.remove(path)
            raise StorageFault(f"The photo could not be stored in {self.folder}: {reason(error)}.") from error
        return StoredFile(name=name, sha256=hashlib.sha256(data).hexdigest())

    def _write_whole(self, path: Path, data: bytes) -> None:
        file = self._disk.create(path)
        try:
            rest = memoryview(data)
            while rest:
                rest = rest[self._disk.write(file, rest) :]
            self._disk.sync(file)
        finally:
            self._disk.close(file)

    def read(self, stored: StoredFile) -> bytes:
        """The bytes, checked against their hash.

        Raises
        ------
        StorageFault
            Where the file is missing, unreadable or no longer what was stored.
        """
        try:
            data = (self.folder / stored.name).read_bytes()
        except FileNotFoundError as error:
            raise StorageFault("The file of this photo is missing from the data folder.") from error
        except OSError as error:
            raise StorageFault(f"The file of this photo cannot be read: {reason(error)}.") from error
        if hashlib.sha256(data).hexdigest() != stored.sha256:
            raise StorageFault(
                "The file of this photo was changed on the disk since it was stored, so it is not shown."
            )
        return data

    def remove(self, names: Iterable[str]) -> int:
        """Remove files; returns how many could not be removed."""
        failed = 0
        for name in names:
            try:
                self._disk.remove(self.folder / name)
            except OSError:
                failed += 1
        return failed

    def has(self, name: str) -> bool:
        """Whether the file is there."""
        return (self.folder / name).is_file()

    def names(self) -> frozenset[str]:
        """The names in the folder that are of our form, half-written files included."""
        return frozenset(path.name for path in self.folder.iterdir() if _OUR_NAMES.fullmatch(path.name))


def reason(error: OSError) -> str:
    """What the operating system said, without numbers and paths.

    Examples
    --------
    >>> reason(OSError(28, "No space left on device"))
    'no space left on device'
    """
    words = error.strerror or "the system gave no reason"
    return words[0].lower() + words[1:]
