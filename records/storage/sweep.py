"""What opening a store puts right: files that a cut-off photo left behind go, missing ones are named."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.errors import StorageFault
from records.models import PhotoRow, ScanRow
from records.photo.photo_files import KeptFiles, reason


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


def sweep(session: Session, *, photos: KeptFiles, scans: KeptFiles) -> Sweep:
    """Remove files without a record and find records without a file; `session` must hold the write lock.

    A file on its way in is never seen: its record is written while the same lock is held, or its writer keeps the folder
    from being swept; then files without a record stay until the next opening.
    """
    rows = session.execute(
        select(PhotoRow.id, PhotoRow.file_name, PhotoRow.screen_file_name).where(PhotoRow.removed_at.is_(None))
    ).all()
    found = there(photos)
    with photos.free_to_sweep() as free:
        swept = [
            _sweep_one(photos, found if free else frozenset(), {name for _, *names in rows for name in names}),
            _sweep_one(scans, there(scans), session.scalars(select(ScanRow.file_name))),
        ]
    return Sweep(
        removed=sum(removed for removed, _ in swept),
        missing=tuple(photo_id for photo_id, *names in rows if not found.issuperset(names)),
        not_removed=sum(failed for _, failed in swept),
    )


def there(files: KeptFiles) -> frozenset[str]:
    """The names of the files that are kept there. Raises StorageFault where the place cannot be read."""
    try:
        return files.names()
    except OSError as error:
        raise StorageFault(f"The folder {files.place} cannot be read: {reason(error)}.") from error


def _sweep_one(files: KeptFiles, found: frozenset[str], known: Iterable[str | None]) -> tuple[int, int]:
    """How many files without a record were removed, and how many could not be."""
    orphans = found - set(known)
    failed = files.remove(sorted(orphans))
    return len(orphans) - failed, failed
