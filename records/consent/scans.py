"""Scans of signed consent forms: apart from the photos, in a folder of their own, for few eyes.

A scan bears names and a signature, so nobody but whoever put the consent on record and those who oversee consents can
fetch it. A withdrawal leaves it: it proves that the photos were used with a consent until that day. How long it is to
be kept then is for the school's own rules; `remove_scan` removes it.
"""

import secrets
from dataclasses import dataclass
from datetime import datetime

from records.auditing.audit import append
from records.consent.ledger import consent_in_charge
from records.errors import InvalidRecord, NotFound
from records.identity.people import Person
from records.models import ScanRow
from records.photo.photo_files import StoredFile
from records.photo.room import check_room
from records.rights import Right, service
from records.store import Store

MAX_SCAN_BYTES = 10 * 2**20
#: How each kind of file begins, and its ending (ISO 32000-1; ITU-T T.81; W3C PNG).
_SIGNATURES = {b"%PDF-": "pdf", b"\xff\xd8\xff": "jpg", b"\x89PNG\r\n\x1a\n": "png"}
_MEDIA_TYPES = {"pdf": "application/pdf", "jpg": "image/jpeg", "png": "image/png"}


@dataclass(frozen=True, kw_only=True)
class ScanRecord:
    """What is known of a scan: its media type and when it came, in UTC."""

    consent_id: str
    media_type: str
    added_at: datetime


@dataclass(frozen=True, kw_only=True)
class Scan:
    """A scan's bytes, their media type, and a name for saving that says nothing of who signed."""

    data: bytes
    media_type: str
    file_name: str


@service(Right.KEEP_CONSENTS)
def add_scan(store: Store, person: Person, consent_id: str, data: bytes) -> ScanRecord:
    """Keep the scan of a consent's form; a second one takes the place of the first.

    Parameters
    ----------
    data : bytes
        A PDF, JPEG or PNG by its first bytes, at most 10 MB.

    Raises
    ------
    InvalidRecord, NotFound, NotAllowed, NoRoom, StorageFault
        In all cases nothing is stored.
    """
    name = f"{secrets.token_hex(16)}.{_ending_of(data)}"
    written: list[str] = []
    try:
        with store.writing() as session:
            consent = consent_in_charge(session, person, consent_id)
            check_room(store, session, consent.recorded_by or person.id, len(data), store.scans)
            stored = store.scans.write(data, name)
            written.append(stored.name)
            row = session.get(ScanRow, consent_id)
            replaced = [row.file_name] if row is not None else []
            if row is None:
                row = ScanRow(consent_id=consent_id)
                session.add(row)
            row.file_name, row.sha256, row.added_at = stored.name, stored.sha256, store.now()
            row.n_bytes = len(data)
            append(store, session, actor_id=person.id, action="add_scan", object_id=consent_id)
            record = _record_of(row)
    except BaseException:
        store.scans.remove(written)
        raise
    store.scans.remove(replaced)
    return record


@service(Right.KEEP_CONSENTS)
def read_scan(store: Store, person: Person, consent_id: str) -> Scan:
    """The scan of a consent's form; that it was fetched is logged. Raises NotFound, NotAllowed, StorageFault."""
    with store.writing() as session:
        consent_in_charge(session, person, consent_id)
        row = _row(session.get(ScanRow, consent_id))
        stored = StoredFile(name=row.file_name, sha256=row.sha256)
        media_type = _record_of(row).media_type
        append(store, session, actor_id=person.id, action="read_scan", object_id=consent_id)
    return Scan(
        data=store.scans.read(stored),
        media_type=media_type,
        file_name=f"consent-form.{stored.name.rpartition('.')[2]}",
    )


@service(Right.KEEP_CONSENTS)
def remove_scan(store: Store, person: Person, consent_id: str) -> None:
    """Remove the scan; the consent stays on record. Raises NotFound, NotAllowed."""
    with store.writing() as session:
        consent_in_charge(session, person, consent_id)
        row = _row(session.get(ScanRow, consent_id))
        name = row.file_name
        session.delete(row)
        append(store, session, actor_id=person.id, action="remove_scan", object_id=consent_id)
    store.scans.remove([name])
    store.forget_deleted()


def _row(found: ScanRow | None) -> ScanRow:
    if found is None:
        raise NotFound("There is no scan of this consent's form.")
    return found


def _ending_of(data: bytes) -> str:
    if len(data) > MAX_SCAN_BYTES:
        raise InvalidRecord(f"A scan may have at most {MAX_SCAN_BYTES // 2**20} MB, got {len(data) / 2**20:.1f} MB.")
    for signature, ending in _SIGNATURES.items():
        if data.startswith(signature):
            return ending
    raise InvalidRecord("A scan is a PDF, JPEG or PNG file, and these bytes are none of them.")


def _record_of(row: ScanRow) -> ScanRecord:
    ending = row.file_name.rpartition(".")[2]
    return ScanRecord(consent_id=row.consent_id, media_type=_MEDIA_TYPES[ending], added_at=row.added_at)
