"""What opening a store does with the journal: whatever it says is gone, and is there, goes.

That completes a withdrawal whose process was killed half-way, and takes withdrawn photos out of an older copy of the
records that was put back.
"""

from collections.abc import Callable, Iterable
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.consent.ending import Gone, end_consent, end_use
from records.consent.erasing import erase_class, erase_person
from records.consent.journal import Entry, Kind
from records.models import ClassRow, ConsentRow, PersonRow, PhotoRow


def replay(session: Session, entries: Iterable[Entry], *, now: datetime, noted: Callable[[Kind, str], None]) -> Gone:
    """Bring the records to what the journal says.

    Parameters
    ----------
    session : Session
        Holds the lock of the records.
    entries : iterable of Entry
        Of any records; ids that are not known here are passed over.
    now : datetime
    noted : callable
        Told of each line that there was something to do for.

    Returns
    -------
    Gone
        With the names of the files to delete once the transaction is committed.
    """
    gone = Gone()
    said = {(entry.kind, entry.object_id): entry for entry in entries if entry.object_id is not None}
    to_do = [said[found] for found in said.keys() & _still_there(session)]
    for entry in sorted(to_do, key=lambda entry: entry.number):
        _complete(session, entry, now, gone)
        noted(entry.kind, entry.object_id or "")
    return gone


def _still_there(session: Session) -> set[tuple[Kind, str | None]]:
    """All that a line of the journal could find still standing."""
    rows = {
        Kind.WITHDRAWN: select(ConsentRow.id).where(ConsentRow.withdrawn_on.is_(None)),
        Kind.PHOTO_REMOVED: select(PhotoRow.id).where(PhotoRow.removed_at.is_(None)),
        Kind.PERSON_ERASED: select(PersonRow.id).where(PersonRow.erased_at.is_(None)),
        Kind.CLASS_ERASED: select(ClassRow.id).where(ClassRow.erased_at.is_(None)),
    }
    return {(kind, object_id) for kind, found in rows.items() for object_id in session.scalars(found)}


def _complete(session: Session, entry: Entry, now: datetime, gone: Gone) -> None:
    on: date = entry.at.astimezone().date()
    if entry.kind == Kind.WITHDRAWN:
        end_consent(session, session.get_one(ConsentRow, entry.object_id), on=on, now=now, gone=gone)
    elif entry.kind == Kind.PHOTO_REMOVED:
        end_use(session, session.get_one(PhotoRow, entry.object_id), now=now, gone=gone)
    elif entry.kind == Kind.PERSON_ERASED:
        erase_person(session, session.get_one(PersonRow, entry.object_id), now=now, gone=gone)
    elif entry.kind == Kind.CLASS_ERASED:
        erase_class(session, session.get_one(ClassRow, entry.object_id), now=now)
