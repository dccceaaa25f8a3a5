"""A lock on a folder among the processes of one computer, which the system lets go of when a process ends in any way.

Two kinds: any number may share it, or one has it alone. Where the system or the file system knows no such lock (Windows,
some network folders), both say so, and whoever asks does it the slow way.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

try:
    import fcntl
except ImportError:  # pragma: no cover - Windows
    fcntl = None  # type: ignore[assignment]


@contextmanager
def shared(folder: Path) -> Iterator[bool]:
    """Hold the folder together with others, after whoever has it alone; False where there is no such lock."""
    with _opened(folder) as handle:
        yield handle is not None and _locked(handle, alone=False) is True


@contextmanager
def alone(folder: Path) -> Iterator[bool]:
    """Hold the folder alone; False, at once, where somebody shares it. True also where there is no such lock."""
    with _opened(folder) as handle:
        yield handle is None or _locked(handle, alone=True) is not False


@contextmanager
def _opened(folder: Path) -> Iterator[int | None]:
    if fcntl is None:  # pragma: no cover - Windows
        yield None
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        yield handle
    finally:
        os.close(handle)  # which lets go of the lock


def _locked(handle: int, *, alone: bool) -> bool | None:
    """Whether the lock was had; None where this file system has none."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB if alone else fcntl.LOCK_SH)
    except BlockingIOError:
        return False
    except OSError:
        return None
    return True
