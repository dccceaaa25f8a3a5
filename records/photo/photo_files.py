"""Folders of files under random names, each file there entirely or not at all: photos, consent scans, bundles."""

import hashlib
import re
import secrets
from collections.abc import Iterable
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from records.errors import StorageFault
from records.storage.disk import Disk, write_all
from records.storage.folder_lock import alone, shared


@dataclass(frozen=True, kw_only=True)
class StoredFile:
    """A file in the folder: its random name and the SHA-256 of its bytes, 64 hexadecimal digits."""

    name: str
    sha256: str


class KeptFiles(Protocol):
    """Where files lie, on this computer's disk or elsewhere; what each method promises stands at `PhotoFiles`."""

    @property
    def place(self) -> str: ...
    def write(self, data: bytes, name: str | None = None) -> StoredFile: ...
    def read(self, stored: StoredFile) -> bytes: ...
    def remove(self, names: Iterable[str]) -> int: ...
    def has(self, name: str) -> bool: ...
    def names(self) -> frozenset[str]: ...
    def kept_from_sweeping(self) -> AbstractContextManager[bool]: ...
    def free_to_sweep(self) -> AbstractContextManager[bool]: ...


def our_names(endings: Iterable[str]) -> re.Pattern[str]:
    """What our files are called. Only such are ever removed: what a person puts beside them is not ours to delete."""
    return re.compile(rf"[0-9a-f]{{32}}\.(?:{'|'.join([*endings, 'part'])})")


class PhotoFiles:
    """The files in one folder of this computer, reached through a disk.

    Parameters
    ----------
    folder : Path
    disk : Disk
    endings : tuple of str
        Which endings the names may have; the first is that of a file whose name is not given.
    what : str
        What the files are, as a message says it.
    """

    def __init__(self, folder: Path, disk: Disk, *, endings: tuple[str, ...] = ("jpg",), what: str = "photo") -> None:
        self.folder = folder
        self._disk = disk
        self._ending, self._what = endings[0], what
        self._our_names = our_names(endings)

    @property
    def place(self) -> str:
        """Where the files lie, as a message says it."""
        return str(self.folder)

    def write(self, data: bytes, name: str | None = None) -> StoredFile:
        """Store the bytes under a random name (or again under a name of ours) and wait until the disk has them.

        Raises
        ------
        StorageFault
            For a full disk or an unwritable folder; then no file is left behind.
        """
        name = name or f"{secrets.token_hex(16)}.{self._ending}"
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
            raise StorageFault(f"The {self._what} could not be stored in {self.folder}: {reason(error)}.") from error
        return StoredFile(name=name, sha256=hashlib.sha256(data).hexdigest())

    def _write_whole(self, path: Path, data: bytes) -> None:
        file = self._disk.create(path)
        try:
            write_all(self._disk, file, data)
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
            raise missing(self._what) from error
        except OSError as error:
            raise StorageFault(f"The file of this {self._what} cannot be read: {reason(error)}.") from error
        return unchanged(data, stored, self._what)

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
        return frozenset(path.name for path in self.folder.iterdir() if self._our_names.fullmatch(path.name))

    def kept_from_sweeping(self) -> AbstractContextManager[bool]:
        """While it lasts, files without a record stay; False where only the database's write lock keeps them."""
        return shared(self.folder)

    def free_to_sweep(self) -> AbstractContextManager[bool]:
        """Whether no process has files on their way in; while it lasts, none begins. The write lock must be held."""
        return alone(self.folder)


def missing(what: str) -> StorageFault:
    """What is said of a file that is not where it was put."""
    return StorageFault(f"The file of this {what} is missing from the data folder.")


def unchanged(data: bytes, stored: StoredFile, what: str) -> bytes:
    """The bytes as they came. Raises StorageFault where they are not those that were stored."""
    if hashlib.sha256(data).hexdigest() != stored.sha256:
        raise StorageFault(f"The file of this {what} was changed on the disk since it was stored, so it is not shown.")
    return data


def reason(error: OSError) -> str:
    """What the operating system said, without numbers and paths.

    Examples
    --------
    >>> reason(OSError(28, "No space left on device"))
    'no space left on device'
    """
    words = error.strerror or "the system gave no reason"
    return words[0].lower() + words[1:]
