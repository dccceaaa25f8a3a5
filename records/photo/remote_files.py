"""Photo files on a shared place or a store of objects: whatever fsspec reaches, by its URL.

There is no rename and no folder to wait for there, so a file counts as stored only once it was read back and is what
was sent. Until then no record names it, and opening the store sweeps away what a cut-off writing left behind.
"""

import hashlib
import secrets
from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext, suppress

import fsspec  # type: ignore[import-untyped]

from records.errors import StorageFault
from records.photo.photo_files import StoredFile, missing, our_names, reason, unchanged

#: Elsewhere a folder is only a part of a name, and making one could make a new bucket out of a slip of the pen.
_WITH_FOLDERS = {"file", "local", "memory", "sftp", "ssh", "smb", "ftp"}


class RemoteFiles:
    """The files under one URL, such as s3://bucket/photos; methods as those of `records.photo.photo_files.PhotoFiles`.

    Raises
    ------
    StorageFault
        Where the place cannot be reached or its protocol is not installed.
    """

    def __init__(self, url: str, *, endings: tuple[str, ...] = ("jpg",), what: str = "photo") -> None:
        self._ending, self._what = endings[0], what
        self._our_names = our_names(endings)
        # Without what may stand before the host: that can be a password.
        self._place = url.split("://")[0] + "://" + url.split("://", 1)[-1].rpartition("@")[2]
        try:
            self._files, self._root = fsspec.core.url_to_fs(url, use_listings_cache=False)
            self._root = self._root.rstrip("/")
            if url.split("://")[0] in _WITH_FOLDERS:
                self._files.makedirs(self._root, exist_ok=True)
        except Exception as error:
            raise StorageFault(f"The place of the photos, {self._place}, cannot be used: {_said(error)}.") from error

    @property
    def place(self) -> str:
        """Where the files lie, as a message says it."""
        return self._place

    def write(self, data: bytes, name: str | None = None) -> StoredFile:
        """Store the bytes, read them back and compare. Raises StorageFault; then no file is left behind."""
        name = name or f"{secrets.token_hex(16)}.{self._ending}"
        stored = StoredFile(name=name, sha256=hashlib.sha256(data).hexdigest())
        try:
            self._files.pipe_file(self._path(name), data)
            unchanged(self._files.cat_file(self._path(name)), stored, self._what)
        except Exception as error:
            with suppress(Exception):
                self._files.rm_file(self._path(name))
            raise StorageFault(f"The {self._what} could not be stored in {self._place}: {_said(error)}.") from error
        return stored

    def read(self, stored: StoredFile) -> bytes:
        """The bytes, checked against their hash. Raises StorageFault."""
        try:
            data = self._files.cat_file(self._path(stored.name))
        except FileNotFoundError as error:
            raise missing(self._what) from error
        except Exception as error:
            raise StorageFault(f"The file of this {self._what} cannot be read: {_said(error)}.") from error
        return unchanged(data, stored, self._what)

    def remove(self, names: Iterable[str]) -> int:
        """Remove files; returns how many could not be removed."""
        failed = 0
        for name in names:
            try:
                self._files.rm_file(self._path(name))
            except FileNotFoundError:
                continue
            except Exception:
                failed += 1
        return failed

    def has(self, name: str) -> bool:
        """Whether the file is there. Raises StorageFault where that cannot be told."""
        try:
            return bool(self._files.exists(self._path(name)))
        except Exception as error:
            raise StorageFault(f"The place of the photos, {self._place}, cannot be read: {_said(error)}.") from error

    def names(self) -> frozenset[str]:
        """The names that are of our form. Raises OSError."""
        try:
            found = self._files.ls(self._root, detail=False)
        except FileNotFoundError:
            # Where there are no folders, one without files is none.
            return frozenset()
        except OSError:
            raise
        except Exception as error:
            raise OSError(0, _said(error)) from error
        plain = (str(path).rstrip("/").rpartition("/")[2] for path in found)
        return frozenset(name for name in plain if self._our_names.fullmatch(name))

    def kept_from_sweeping(self) -> AbstractContextManager[bool]:
        """There is no such lock elsewhere: files come within the transaction that records them."""
        return nullcontext(False)

    def free_to_sweep(self) -> AbstractContextManager[bool]:
        """So whoever holds the write lock may always sweep."""
        return nullcontext(True)

    def _path(self, name: str) -> str:
        return f"{self._root}/{name}"


def _said(error: Exception) -> str:
    """One clause about what went wrong, without addresses and keys that a library may put into its words."""
    if isinstance(error, OSError) and error.strerror:
        return reason(error)
    if isinstance(error, StorageFault):
        return "what was read back is not what was sent"
    if isinstance(error, ImportError | ValueError):
        return "nothing here knows this kind of place"
    return "the place did not answer as it should"
