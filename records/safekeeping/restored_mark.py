"""The mark of a restored data folder that nobody has opened yet: whatever opens it first writes the restore down.

It comes into the folder before the folder gets its name, so a restore that is cut off after that is still told apart
from an older copy that somebody put in place by hand.
"""

from pathlib import Path

from records.auditing.audit import append
from records.consent.for_good import note_the_log
from records.consent.journal import Kind
from records.identity.sessions import end_every_session
from records.storage import unfinished
from records.storage.disk import LocalDisk, write_all
from records.store import Store


def leave_mark(folder: Path, token: str) -> None:
    """Mark a folder that is about to become the data folder; the database may bear the same token. Raises OSError."""
    disk = LocalDisk()
    file = disk.create(folder / unfinished.FILE)
    try:
        write_all(disk, file, token.encode("ascii"))
    finally:
        disk.close(file)


def write_down_restore(store: Store) -> None:
    """Where the mark is there: log the restore, end all sessions, and let the journal expect the log as it came back."""
    mark = store.folder / unfinished.FILE
    if not mark.exists():
        return
    with store.writing() as session:
        note_the_log(store, session, Kind.RESTORED)
        end_every_session(store, session)
        append(store, session, actor_id=None, action="restore")
        unfinished.end(session.connection())
    mark.unlink(missing_ok=True)
