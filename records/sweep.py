"""What opening a store puts right: files that a cut-off photo left behind go, missing ones are named."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.errors import StorageFault
from records.models import PhotoRow
from records.photo_files import PhotoFiles, reason


@dataclass(frozen=True, kw_only=True)
class Sweep:
    """What opening found in the photo folder.

    Parameters
    ----------
    removed : int
        Files without a record that were removed.
    missing : tuple of str
        Ids of photos of which a file is not there.
    not_removed : int
        Files without a record that could not be removed.
    """

    removed: int = 0
    missing: tuple[str, ...] = ()
    not_removed: int = 0


def sweep(session: Session, files: PhotoFiles) -> Sweep:
    """Remove files without a record and find records without a file; `session` must hold the write lock.

    A photo's record is written while the same lock is held as for its files, so a photo on its way in is never seen.
    """
    rows = session.execute(
        select(PhotoRow.id, PhotoRow.file_name, PhotoRow.screen_file_name).where(PhotoRow.removed_at.is_(None))
    ).all()
    try:
        there = files.names()
    except OSError as error:
        raise StorageFault(f"The photo folder {files.folder} cannot be read: {reason(error)}.") from error
    known = {name for _, *names in rows for name in names}
    orphans = there - known
    failed = files.remove(sorted(orphans))
    missing = tuple(photo_id for photo_id, *names in rows if not there.issuperset(names))
    return Sweep(removed=len(orphans) - failed, missing=missing, not_removed=failed)
