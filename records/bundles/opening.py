"""Opening a zip from elsewhere: every rule of its form is checked before a byte of a picture is believed.

A bundle is written unpacked, so an entry that is packed, or that claims another length than it has, is refused outright
and no bomb can go off. Its files must fill the zip from the first byte to the directory, without gap or overlap.
"""

import hashlib
import re
import stat
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import BinaryIO

from records.bundles.form import (
    MAX_BUNDLE_BYTES,
    MAX_PHOTO_BYTES,
    MAX_TEXT_BYTES,
    MOST_PHOTOS,
    PHOTO_NAME,
    SUMS,
    TEXT_FILES,
)
from records.errors import BundleRefused

_CHUNK = 1024 * 1024
_LOCAL_HEADER = 30
_DRIVE = re.compile(r"[A-Za-z]:")
_SUM_LINE = re.compile(r"([0-9a-f]{64})  (\S+)")


class OpenBundle:
    """A zip whose form was checked; its files can be read, each against its hash."""

    def __init__(self, whole: zipfile.ZipFile) -> None:
        self._whole = whole
        self._infos = {info.filename: info for info in whole.infolist()}
        self.sums: dict[str, str] = {}

    @property
    def photo_names(self) -> list[str]:
        """The pictures in it, by name."""
        return sorted(name for name in self._infos if PHOTO_NAME.fullmatch(name))

    def size(self, name: str) -> int:
        """How many bytes a file says that it has; `read` holds it to that."""
        return self._infos[name].file_size

    def read(self, name: str) -> bytes:
        """A file, checked against its length and its hash. Raises BundleRefused."""
        data = self.read_unchecked(name)
        if hashlib.sha256(data).hexdigest() != self.sums.get(name):
            raise BundleRefused(f"The bundle's {name} is not what its list of hashes says.")
        return data

    def read_unchecked(self, name: str) -> bytes:
        """A file, read in pieces and never further than it says that it is long. Raises BundleRefused."""
        info = self._infos[name]
        data = bytearray()
        try:
            with self._whole.open(info) as file:
                while piece := file.read(_CHUNK):
                    data += piece
                    if len(data) > info.file_size:
                        raise BundleRefused(f"The bundle's {name} is longer than it says.")
        except (zipfile.BadZipFile, EOFError, OSError, NotImplementedError, RuntimeError, ValueError) as fault:
            raise BundleRefused(f"The bundle's {name} is damaged.") from fault
        if len(data) != info.file_size:
            raise BundleRefused(f"The bundle's {name} is shorter than it says.")
        return bytes(data)


@contextmanager
def opened(file: BinaryIO) -> Iterator[OpenBundle]:
    """A bundle whose form and list of hashes hold; the text files and pictures are not read yet.

    Raises
    ------
    BundleRefused
        In one sentence, for the first rule that is broken.
    """
    length = file.seek(0, 2)
    if length > MAX_BUNDLE_BYTES:
        raise BundleRefused(f"The bundle is larger than {MAX_BUNDLE_BYTES // 2**20} MB, so it was not opened.")
    file.seek(0)
    try:
        whole = zipfile.ZipFile(file)
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, OverflowError) as fault:
        raise BundleRefused("The file is not a whole zip.") from fault
    with whole:
        _check_entries(whole)
        _check_lengths(whole)
        _check_layout(whole, length)
        bundle = OpenBundle(whole)
        bundle.sums = _sums(bundle)
        yield bundle


def _check_entries(whole: zipfile.ZipFile) -> None:
    infos = whole.infolist()
    most = len(TEXT_FILES) + 1 + MOST_PHOTOS
    if len(infos) > most:
        raise BundleRefused(f"The bundle holds {len(infos)} files, and at most {most} can be in one.")
    seen: set[str] = set()
    for info in infos:
        # The name as it stands in the zip: Python cuts names at a zero byte and turns slashes for its own system.
        name = info.orig_filename
        _check_name(name)
        if name.lower() in seen:
            raise BundleRefused(f"The bundle holds {_shown(name)} twice.")
        seen.add(name.lower())
        if name not in (*TEXT_FILES, SUMS) and not PHOTO_NAME.fullmatch(name):
            raise BundleRefused(f"The bundle holds a file that does not belong in one: {_shown(name)}.")
        mode = info.external_attr >> 16
        if stat.S_IFMT(mode) not in (0, stat.S_IFREG):
            raise BundleRefused(f"The bundle's {_shown(name)} is a link or a device and not a plain file.")
    missing = [name for name in (*TEXT_FILES, SUMS) if name.lower() not in seen]
    if missing:
        raise BundleRefused(f"The bundle lacks {missing[0]}.")


def _check_name(name: str) -> None:
    parts = name.replace("\\", "/").split("/")
    if name.startswith("/") or "\\" in name or ".." in parts or _DRIVE.match(name) or not name.isprintable():
        raise BundleRefused(f"The bundle names a place outside itself: {_shown(name)}.")


def _check_lengths(whole: zipfile.ZipFile) -> None:
    for info in whole.infolist():
        name = info.filename
        if info.flag_bits & 0x1:
            raise BundleRefused(f"The bundle's {name} is encrypted, and bundles are not.")
        if info.compress_type != zipfile.ZIP_STORED or info.compress_size != info.file_size:
            raise BundleRefused(f"The bundle's {name} is packed, and files in a bundle lie unpacked.")
        most = MAX_PHOTO_BYTES if PHOTO_NAME.fullmatch(name) else MAX_TEXT_BYTES
        if info.file_size > most:
            raise BundleRefused(f"The bundle's {name} is longer than {most // 2**20} MB.")


def _check_layout(whole: zipfile.ZipFile, length: int) -> None:
    """Entry after entry from the first byte, nothing added to their headers, and the directory to the end."""
    at = directory = 0
    for info in sorted(whole.infolist(), key=lambda info: info.header_offset):
        plain_header = not (info.extra or info.comment or info.flag_bits)
        if info.header_offset != at or not plain_header:
            raise BundleRefused("The bundle holds more than its files, or they overlap.")
        at += _LOCAL_HEADER + len(info.filename) + info.file_size
        directory += 46 + len(info.filename)
    if whole.comment or whole.start_dir != at or length != at + directory + 22:
        raise BundleRefused("The bundle holds more than its files, or they overlap.")


def _sums(bundle: OpenBundle) -> dict[str, str]:
    try:
        lines = bundle.read_unchecked(SUMS).decode("ascii").splitlines()
    except UnicodeDecodeError as fault:
        raise BundleRefused(f"The bundle's {SUMS} cannot be read.") from fault
    found = [_SUM_LINE.fullmatch(line) for line in lines]
    sums = {line[2]: line[1] for line in found if line is not None}
    if len(sums) != len(lines):
        raise BundleRefused(f"The bundle's {SUMS} cannot be read.")
    if set(sums) != {*TEXT_FILES, *bundle.photo_names}:
        raise BundleRefused(f"The bundle's {SUMS} does not name exactly the files that are there.")
    return sums


def _shown(name: str) -> str:
    """A name from a stranger, short and on one line."""
    return ascii(name[:60])
