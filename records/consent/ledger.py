"""The consent ledger as a page shows it: one's own lines, or, for whoever oversees consents, all of them."""

from collections import Counter
from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.consent import consents
from records.consent.consents import ConsentRecord, NewConsent
from records.consent.ending import Gone
from records.consent.for_good import delete_files
from records.consent.withdrawal import LeftBundle, Withdrawal, left_with, withdraw_in
from records.identity.people import Person
from records.models import ClassRow, ConsentRow, PersonRow, PhotoRow, ScanRow
from records.rights import Right, service
from records.store import Store

SOON_DAYS = 30


@dataclass(frozen=True, kw_only=True)
class LedgerLine:
    """A line of the ledger with what hangs on it.

    Parameters
    ----------
    consent : ConsentRecord
    recorded_by : str
        The handle of who put it on record.
    mine : bool
        Whether that was the asking person.
    class_title : str or None
        The one class that the consent covers; None where it names none.
    n_photos : int
        Photos that rest on it now.
    has_scan : bool
        Whether the scan of the signed form is kept here.
    days_left : int or None
        Days on which it still covers anything, today included; 0 where it ended; None where it has no end.
    """

    consent: ConsentRecord
    recorded_by: str
    mine: bool
    class_title: str | None
    n_photos: int
    has_scan: bool
    days_left: int | None

    def ends_within(self, days: int) -> bool:
        """Whether it stands today and its last day is at most so many days away."""
        return self.stands and self.days_left is not None and self.days_left <= days + 1

    @property
    def stands(self) -> bool:
        """Whether it is neither withdrawn nor over."""
        return self.consent.withdrawn_on is None and self.days_left != 0


@service(Right.KEEP_CONSENTS)
def own_consents(store: Store, person: Person) -> tuple[LedgerLine, ...]:
    """What this person put on record; what ends within 30 days first, then what stands, then the rest."""
    with store.reading() as session:
        return _lines(store, session, person, own=True)


@service(Right.OVERSEE_CONSENTS)
def all_consents(store: Store, person: Person) -> tuple[LedgerLine, ...]:
    """What anybody put on record, in the same order; dolls that came with the program are not in it."""
    with store.reading() as session:
        return _lines(store, session, person, own=False)


@service(Right.KEEP_CONSENTS)
def put_on_record(store: Store, person: Person, consent: NewConsent) -> ConsentRecord:
    """Put a consent on record before there is a photo.

    Raises
    ------
    NotFound, NotAllowed
        For a class that is not there or that the person is not in.
    """
    with store.writing() as session:
        consents.check_class(session, person, consent)
        row = consents.new_row(store, person.id, consent)
        session.add(row)
        session.flush()
        append(store, session, actor_id=person.id, action="put_on_record", object_id=row.id)
        return consents.record_of(row)


@service(Right.KEEP_CONSENTS)
def would_leave(store: Store, person: Person, consent_id: str) -> tuple[LeftBundle, ...]:
    """Which exports already hold photos under a consent: what a withdrawal cannot call back. Raises as `withdraw`."""
    with store.reading() as session:
        consent_in_charge(session, person, consent_id)
        under = select(PhotoRow.id).where(PhotoRow.consent_id == consent_id)
        return left_with(session, set(session.scalars(under)))


@service(Right.OVERSEE_CONSENTS)
def withdraw_any(store: Store, person: Person, consent_id: str) -> Withdrawal:
    """Withdraw a consent that anybody put on record, as `records.consent.withdrawal.withdraw` does with one's own."""
    gone = Gone()
    with store.writing() as session:
        done = withdraw_in(store, session, person, consent_in_charge(session, person, consent_id), gone)
    delete_files(store, gone)
    return done


def consent_in_charge(session: Session, person: Person, consent_id: str) -> ConsentRow:
    """One of the person's own consents or, for an educator, anybody's. Raises NotFound, NotAllowed."""
    row = session.get(ConsentRow, consent_id)
    if row is not None and row.recorded_by is not None and consents.oversees(session, person):
        return row
    return consents.own_consent(session, person, consent_id)


def _lines(store: Store, session: Session, person: Person, *, own: bool) -> tuple[LedgerLine, ...]:
    found = (
        select(ConsentRow, PersonRow.handle, ClassRow.title)
        .join(PersonRow, PersonRow.id == ConsentRow.recorded_by)
        .outerjoin(ClassRow, ClassRow.id == ConsentRow.class_id)
        .order_by(ConsentRow.recorded_at.desc(), ConsentRow.id)
    )
    if own:
        found = found.where(ConsentRow.recorded_by == person.id)
    photos = Counter(session.scalars(select(PhotoRow.consent_id).where(PhotoRow.removed_at.is_(None))))
    scans = set(session.scalars(select(ScanRow.consent_id)))
    lines = [
        LedgerLine(
            consent=consents.record_of(row),
            recorded_by=handle,
            mine=row.recorded_by == person.id,
            class_title=title,
            n_photos=photos[row.id],
            has_scan=row.id in scans,
            days_left=_days_left(store, row),
        )
        for row, handle, title in session.execute(found)
    ]
    return tuple(sorted(lines, key=_urgency))


def _days_left(store: Store, row: ConsentRow) -> int | None:
    if row.expires_on is None:
        return None
    return max((row.expires_on - store.today()) // timedelta(days=1) + 1, 0)


def _urgency(line: LedgerLine) -> tuple[int, int]:
    if not line.stands:
        return (2, 0)
    return (0, line.days_left or 0) if line.ends_within(SOON_DAYS) else (1, 0)
