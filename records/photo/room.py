"""How much room files may take up: for one person, for the school, and what stays free on the disk.

A photo alone is bounded when it is read; without this, many of them would fill the disk and nobody could save an answer.
"""

import shutil

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from records.errors import NoRoom
from records.identity.account_rows import accounts_exist
from records.models import ConsentRow, PhotoRow, ScanRow
from records.photo.photo_files import KeptFiles, PhotoFiles
from records.settings import settings_in
from records.store import Store

#: What files leave free on the disk, for answers and withdrawals: so much, or this share of a small disk.
SPARE_BYTES, SPARE_SHARE = 200 * 2**20, 0.02
#: A photo from before sizes were kept is counted by its pixels, two to a byte, which is more than most take.
_PIXELS_PER_BYTE = 2


def check_room(store: Store, session: Session, person_id: str, n_bytes: int, files: KeptFiles | None = None) -> None:
    """Return only where the person may store so many bytes more; `session` writes, so that nobody else does meanwhile.

    While nobody has an account, only the disk sets a limit.

    Parameters
    ----------
    files : KeptFiles or None
        Where they will lie; by default where the photos do.

    Raises
    ------
    NoRoom
    """
    _check_disk(files or store.files, n_bytes)
    check_share(session, person_id, n_bytes)


def check_share(session: Session, person_id: str, n_bytes: int) -> None:
    """The same without looking at the disk, for files that lie there already."""
    if not accounts_exist(session):
        return
    chosen = settings_in(session)
    if bytes_kept(session, person_id) + n_bytes > chosen.person_megabytes * 2**20:
        raise NoRoom(
            "Your photos and forms take up all the room that one person has here, so nothing was stored; please remove some "
            "that you no longer need, or ask whoever manages people here for more."
        )
    if bytes_kept(session) + n_bytes > chosen.total_megabytes * 2**20:
        raise NoRoom(
            "Photos and forms take up all the room that this school has set for them, so nothing was stored; please tell "
            "whoever manages people here."
        )


def bytes_kept(session: Session, person_id: str | None = None) -> int:
    """How many bytes the files of a person take up: own photos, and scans of consents that they put on record; None: all."""
    size = func.coalesce(PhotoRow.n_bytes, PhotoRow.width * PhotoRow.height // _PIXELS_PER_BYTE)
    photos = select(func.sum(size)).where(PhotoRow.removed_at.is_(None))
    scans = select(func.sum(ScanRow.n_bytes)).join(ConsentRow, ConsentRow.id == ScanRow.consent_id)
    if person_id is not None:
        photos = photos.where(PhotoRow.owner_id == person_id)
        scans = scans.where(ConsentRow.recorded_by == person_id)
    return int(session.scalar(photos) or 0) + int(session.scalar(scans) or 0)


def _check_disk(files: KeptFiles, n_bytes: int) -> None:
    # A place elsewhere says for itself when it is full.
    if not isinstance(files, PhotoFiles):
        return
    try:
        disk = shutil.disk_usage(files.folder)
    except OSError:
        # Whatever is wrong there is told when the file is written.
        return
    if disk.free - n_bytes < min(SPARE_BYTES, int(SPARE_SHARE * disk.total)):
        raise NoRoom("The disk is nearly full, so nothing was stored; please free some space and try again.")
