"""The file that a long batch fills, one JSON line a photo: a batch that was cut off goes on from there."""

import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from vision.errors import CannotDo

PHOTO_ENDINGS = frozenset({".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".heic", ".heif"})
_SYNC_EVERY = 50


def photo_files(given: Iterable[Path]) -> tuple[Path, ...]:
    """Files as given and, for a folder, all photos below it in order of their names; each file once.

    Raises
    ------
    CannotDo
        Where there is no such file or folder, or nothing to measure.
    """
    found: dict[Path, None] = {}
    for path in given:
        if path.is_dir():
            inside = (file for file in path.rglob("*") if file.suffix.lower() in PHOTO_ENDINGS and file.is_file())
            found |= dict.fromkeys(sorted(file.resolve() for file in inside))
        elif path.is_file():
            found[path.resolve()] = None
        else:
            raise CannotDo(f"There is no file or folder {path}.")
    if not found:
        raise CannotDo("There is no photo to measure in what was given.")
    return tuple(found)


class ResultsFile:
    """Lines of results, appended; `done` holds the photos that have theirs.

    Each line is what `measure --json` prints, with `file` for the photo's place, or `{"file", "photo", "error"}`.
    A last line that was cut off in the middle is taken out, so its photo is measured again and none stands twice.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.done: set[str] = set()
        self._unsynced = 0
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._file = path.open("a+b")
            try:
                self._take_up()
            except BaseException:
                self._file.close()
                raise
        except OSError as fault:
            raise CannotDo(f"The results cannot be written to {path}: {fault.strerror or fault}.") from fault

    def _take_up(self) -> None:
        self._file.seek(0)
        whole = 0
        for number, line in enumerate(self._file, start=1):
            if not line.endswith(b"\n"):
                break
            try:
                self.done.add(json.loads(line)["file"])
            except (ValueError, KeyError, TypeError) as fault:
                raise CannotDo(f"{self.path} holds something else than results in line {number}.") from fault
            whole += len(line)
        self._file.truncate(whole)

    def add(self, file: Path, said: Mapping[str, Any]) -> None:
        """Append the line of one photo; raises CannotDo where the disk does not take it."""
        line = json.dumps({"file": str(file), **said}, allow_nan=False, ensure_ascii=False).encode() + b"\n"
        try:
            self._file.write(line)
            self._file.flush()
            self._unsynced += 1
            if self._unsynced >= _SYNC_EVERY:
                os.fsync(self._file.fileno())
                self._unsynced = 0
        except OSError as fault:
            raise CannotDo(f"The results cannot be written to {self.path}: {fault.strerror or fault}.") from fault
        self.done.add(str(file))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.close()
