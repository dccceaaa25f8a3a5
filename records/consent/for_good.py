"""What everything that ends for good shares: its line in the audit log and in the journal, and its files.

The order is: records changed, log and journal written and on the disk, records committed, files deleted. Killed before
the journal's line is whole, nothing has happened; killed after it, the next opening of the store does the rest.
"""

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.consent.ending import WENT_ALONG, Gone
from records.consent.journal import Kind
from records.errors import StorageFault
from records.models import AuditRow
from records.store import Store


def write_down(
    store: Store, session: Session, *, actor_id: str | None, action: str, kind: Kind, object_id: str, gone: Gone
) -> None:
    """Log what was done and to which photos, then note it in the journal; the last step before the commit.

    Raises
    ------
    StorageFault
        Where the journal cannot be written; the transaction must then end without a commit.
    """
    append(store, session, actor_id=actor_id, action=action, object_id=object_id)
    # The line before this one is committed, and stays where this transaction is cut off.
    number = _last_line(session)[0] - 1
    sha256 = sha256_of_line(session, number) or ""
    for photo_id in gone.photo_ids:
        if photo_id != object_id:
            append(store, session, actor_id=actor_id, action=WENT_ALONG, object_id=photo_id)
    store.journal.append(at=store.now(), kind=kind, object_id=object_id, audit_number=number, audit_sha256=sha256)


def note_the_log(store: Store, session: Session, kind: Kind = Kind.LOG_SEEN) -> None:
    """Note in the journal how far the audit log reaches, where it has grown; for a session that may write.

    A log that ends before what the journal has seen was cut off, or is an older copy: nothing is noted then, so that
    `python -m records verify` still tells.
    """
    number, sha256 = _last_line(session)
    entries = store.journal.entries()
    if kind == Kind.LOG_SEEN:
        seen = entries[-1].audit_number if entries else 0
        if number <= seen or (seen and sha256_of_line(session, seen) != entries[-1].audit_sha256):
            return
    store.journal.append(at=store.now(), kind=kind, object_id=None, audit_number=number, audit_sha256=sha256)


def delete_files(store: Store, gone: Gone) -> None:
    """Delete the files of what was taken out, after the commit.

    Raises
    ------
    StorageFault
        Where some could not be deleted yet; the next opening of the store tries again.
    """
    failed = store.files.remove(gone.photo_files) + store.scans.remove(gone.scan_files)
    store.forget_deleted()
    if failed:
        raise StorageFault(
            f"The photo is no longer used, but {failed} of its files could not be deleted yet; "
            "close other programs that show them and start this one again."
        )


def sha256_of_line(session: Session, number: int) -> str | None:
    """The hash of that line of the audit log; None where there is none."""
    return session.scalar(select(AuditRow.sha256).where(AuditRow.number == number))


def _last_line(session: Session) -> tuple[int, str]:
    """Number and hash of the audit log's last line; 0 and nothing for an empty log."""
    last = session.execute(select(AuditRow.number, AuditRow.sha256).order_by(AuditRow.number.desc()).limit(1)).first()
    return (last.number, last.sha256) if last else (0, "")
