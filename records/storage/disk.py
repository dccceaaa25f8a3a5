"""The few things that this package asks of a disk, one call each, so that a test can stand in for the disk."""

import os
from pathlib import Path
from typing import Protocol


class Disk(Protocol):
    """Each method is one step that a power cut can fall before or after; all raise OSError."""

    def create(self, path: Path) -> int: ...
    def write(self, file: int, data: memoryview) -> int: ...
    def sync(self, file: int) -> None: ...
    def close(self, file: int) -> None: ...
    def rename(self, path: Path, target: Path) -> None: ...
    def sync_folder(self, folder: Path) -> None: ...
    def remove(self, path: Path) -> None: ...
    def append(self, path: Path) -> int: ...
    def shorten(self, file: int, size: int) -> None: ...


class LocalDisk:
    """The disk of this computer."""

    def create(self, path: Path) -> int:
        """Open a new file for writing, readable by this user only; it must not exist yet."""
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
        return os.open(path, flags, 0o600)

    def write(self, file: int, data: memoryview) -> int:
        """Write as much as the system takes; returns how many bytes."""
        return os.write(file, data)

    def sync(self, file: int) -> None:
        """Wait until the file's bytes would survive a power cut."""
        os.fsync(file)

    def close(self, file: int) -> None:
        """Close the file."""
        os.close(file)

    def rename(self, path: Path, target: Path) -> None:
        """Give the file its final name in one step."""
        path.replace(target)

    def sync_folder(self, folder: Path) -> None:
        """Wait until the names in the folder would survive a power cut; Windows has no such call."""
        if os.name == "nt":
            return
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)

    def remove(self, path: Path) -> None:
        """Remove the file; it may be gone already."""
        path.unlink(missing_ok=True)

    def append(self, path: Path) -> int:
        """Open a file for adding to its end, made where it is not there yet, readable by this user only."""
        flags = os.O_WRONLY | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
        return os.open(path, flags, 0o600)

    def shorten(self, file: int, size: int) -> None:
        """Cut an open file to its first `size` bytes."""
        os.ftruncate(file, size)


def write_all(disk: Disk, file: int, data: bytes) -> None:
    """Write all of it, however little the system takes at a time, and wait until the disk has it."""
    rest = memoryview(data)
    while rest:
        rest = rest[disk.write(file, rest) :]
    disk.sync(file)
