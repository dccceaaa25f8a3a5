"""What a backup or a restore that was cut off leaves beside its target: found by its name, and taken away by the next."""

import re
import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

#: Another backup into the same folder may be under way, but it touches its files all the time.
UNTOUCHED_SECONDS = 3600.0
_BACKUP = ".latch-and-line-backup-"
_OF_A_BACKUP = re.compile(rf"{re.escape(_BACKUP)}[0-9a-f]{{8}}(\.part)?")


def backup_names(folder: Path) -> tuple[Path, Path]:
    """A folder and a file for a backup under way in that folder."""
    token = secrets.token_hex(4)
    return folder / f"{_BACKUP}{token}", folder / f"{_BACKUP}{token}.part"


def restore_name(folder: Path) -> Path:
    """A folder for a restore under way, beside the data folder."""
    return folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.part")


def clear_after_backups(folder: Path) -> None:
    """Remove what cut-off backups left here: it holds records, photos of which may have been withdrawn since."""
    for path in _named(folder, _OF_A_BACKUP):
        with suppress(OSError):
            if time.time() - _touched(path) > UNTOUCHED_SECONDS:
                _remove(path)


def clear_after_restores(folder: Path) -> None:
    """Remove what cut-off restores into this data folder left beside it; two at once into one folder make no sense."""
    for path in _named(folder.parent, re.compile(rf"\.{re.escape(folder.name)}\.[0-9a-f]{{8}}\.part")):
        with suppress(OSError):
            _remove(path)


def _named(folder: Path, form: re.Pattern[str]) -> Iterator[Path]:
    if folder.is_dir():
        yield from [path for path in folder.iterdir() if form.fullmatch(path.name) and not path.is_symlink()]


def _touched(path: Path) -> float:
    held = list(path.iterdir()) if path.is_dir() else []
    return max(one.stat().st_mtime for one in (path, *held))


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink()
