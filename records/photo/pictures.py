"""A photo and its copy for the screen: checked, written, found again. The consent is asked elsewhere, before this."""

import secrets
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy.orm import Session

from records.errors import InvalidRecord
from records.models import ConsentRow, PhotoRow
from records.photo.clean_jpeg import size_of_clean_jpeg
from records.photo.photo_files import StoredFile
from records.store import Store
from records.wording import required_text

_T = TypeVar("_T")


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A cleaned photo and its copy for the screen, checked when made. Raises InvalidRecord."""

    jpeg: bytes
    screen_jpeg: bytes
    width: int
    height: int
    title: str

    def __post_init__(self) -> None:
        required_text("the title of the photo", self.title)
        size_of_clean_jpeg(self.screen_jpeg)
        found = size_of_clean_jpeg(self.jpeg)
        if found != (self.width, self.height):
            raise InvalidRecord(f"The picture is {found[0]} x {found[1]} pixels, got {self.width} x {self.height}.")

    @property
    def n_bytes(self) -> int:
        """Of both files together."""
        return len(self.jpeg) + len(self.screen_jpeg)


@dataclass(frozen=True, kw_only=True)
class StoredPicture:
    """A picture whose two files are written and have no record yet."""

    full: StoredFile
    screen: StoredFile
    width: int
    height: int
    title: str
    n_bytes: int


def write_picture(store: Store, picture: Picture, written: list[str]) -> StoredPicture:
    """Write both files, noting their names in `written`; the caller removes them if the picture is not kept."""
    full = store.files.write(picture.jpeg)
    written.append(full.name)
    screen = store.files.write(picture.screen_jpeg)
    written.append(screen.name)
    return StoredPicture(
        full=full,
        screen=screen,
        width=picture.width,
        height=picture.height,
        title=picture.title.strip(),
        n_bytes=picture.n_bytes,
    )


def store_picture(
    store: Store, session: Session, picture: Picture, consent: ConsentRow, written: list[str]
) -> PhotoRow:
    """Write both files as `write_picture` does, and add the row."""
    return record_picture(store, session, write_picture(store, picture, written), consent)


def record_picture(store: Store, session: Session, picture: StoredPicture, consent: ConsentRow) -> PhotoRow:
    """Add the row of a picture whose files are there."""
    row = PhotoRow(
        id=secrets.token_hex(16),
        consent=consent,
        title=picture.title,
        width=picture.width,
        height=picture.height,
        file_name=picture.full.name,
        sha256=picture.full.sha256,
        screen_file_name=picture.screen.name,
        screen_sha256=picture.screen.sha256,
        added_at=store.now(),
        n_bytes=picture.n_bytes,
        key=None,
    )
    session.add(row)
    return row


def files_of(row: PhotoRow) -> tuple[StoredFile, StoredFile]:
    """The photo and its copy for the screen; the row must not be that of a removed photo."""
    return (
        StoredFile(name=there(row.file_name), sha256=there(row.sha256)),
        StoredFile(name=there(row.screen_file_name), sha256=there(row.screen_sha256)),
    )


def there(value: _T | None) -> _T:
    """The value of a column that only a removed photo leaves empty."""
    assert value is not None
    return value
