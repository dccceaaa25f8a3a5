"""What opening a store puts in order before anyone works with it."""

from records.auditing.audit import append
from records.consent.for_good import note_the_log
from records.consent.journal import Kind
from records.consent.replay import replay
from records.consent.retention import erase_due_classes
from records.safekeeping.restored_mark import write_down_restore
from records.storage.sweep import Sweep, sweep
from records.store import Store


def settle(store: Store) -> Sweep:
    """Complete what the journal says is gone, erase what is due, and sweep files without a record.

    Raises
    ------
    StorageFault
        Where the database, the journal or a folder cannot be used.
    """
    with store.writing() as session:
        note_the_log(store, session)

        def log(kind: Kind, object_id: str) -> None:
            append(store, session, actor_id=None, action=f"replay_{kind}", object_id=object_id)

        replay(session, store.journal.entries(), now=store.now(), noted=log)
    write_down_restore(store)
    erase_due_classes(store)
    with store.writing() as session:
        return sweep(session, photos=store.files, scans=store.scans)
