"""Ending the use of photos: the picture and all that was read off it go, the scores stay without it.

First the records change, in one transaction, and from then on nothing can be read; then the files go. Before that
transaction ends, the journal has it: a process that is killed in between leaves the rest to the next opening of the
store. The scan of the form stays as proof that there was a consent, until someone removes it (`records.consent.scans`).
"""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.access import own_photo
from records.consent.consents import ConsentRecord, own_consent, record_of
from records.consent.ending import Gone, end_consent, end_use
from records.consent.for_good import delete_files, write_down
from records.consent.journal import Kind
from records.identity.people import Person
from records.models import BundleRow, ConsentRow, PhotoRow
from records.rights import Right, service
from records.store import Store


@dataclass(frozen=True, kw_only=True)
class LeftBundle:
    """An export that left before the withdrawal, with so many of the photos in it; whoever has it must be told."""

    bundle_id: str
    to_whom: str
    made_at: datetime
    n_photos: int


@dataclass(frozen=True, kw_only=True)
class Withdrawal:
    """What a withdrawal did: the consent as it stands now, how many photos went, and which exports hold them still."""

    consent: ConsentRecord
    n_photos: int
    left: tuple[LeftBundle, ...]


@service(Right.KEEP_CONSENTS)
def withdraw(store: Store, person: Person, consent_id: str) -> Withdrawal:
    """Withdraw a consent and remove all photos that rest on it, and every other photo that is the same.

    Photo, screen copy, hashes, titles, landmarks, spots and unfinished attempts go; what was handed
    in keeps its answers and measures without a picture; published sets keep a mark. Once more changes nothing.

    Raises
    ------
    NotFound, NotAllowed
    StorageFault
        Where nothing was changed; also where the use has ended but a file could not be deleted yet; the next opening
        of the store tries again.
    """
    gone = Gone()
    with store.writing() as session:
        done = withdraw_in(store, session, person, own_consent(session, person, consent_id), gone)
    delete_files(store, gone)
    return done


@service(Right.ADD_PHOTO)
def remove_photo(store: Store, person: Person, photo_id: str) -> None:
    """Remove one of the person's photos in the same way; its consent stays on record.

    Raises
    ------
    NotFound, NotAllowed, StorageFault
        As `withdraw`.
    """
    gone = Gone()
    with store.writing() as session:
        end_use(session, own_photo(session, person, photo_id), now=store.now(), gone=gone)
        write_down(
            store,
            session,
            actor_id=person.id,
            action="remove_photo",
            kind=Kind.PHOTO_REMOVED,
            object_id=photo_id,
            gone=gone,
        )
    delete_files(store, gone)


def withdraw_in(store: Store, session: Session, person: Person, consent: ConsentRow, gone: Gone) -> Withdrawal:
    """Withdraw within a transaction under way; `gone` then names the files to delete after its commit."""
    first = consent.withdrawn_on is None
    end_consent(session, consent, on=store.today(), now=store.now(), gone=gone)
    if first or gone.photo_ids:
        write_down(
            store,
            session,
            actor_id=person.id,
            action="withdraw",
            kind=Kind.WITHDRAWN,
            object_id=consent.id,
            gone=gone,
        )
    under = set(session.scalars(select(PhotoRow.id).where(PhotoRow.consent_id == consent.id))) | set(gone.photo_ids)
    return Withdrawal(consent=record_of(consent), n_photos=len(gone.photo_ids), left=left_with(session, under))


def left_with(session: Session, photo_ids: set[str]) -> tuple[LeftBundle, ...]:
    """The exports with any of these photos, newest first."""
    made = session.scalars(select(BundleRow).order_by(BundleRow.made_at.desc(), BundleRow.id))
    held = ((row, len(photo_ids & set(row.photo_ids))) for row in made)
    return tuple(
        LeftBundle(bundle_id=row.id, to_whom=row.to_whom, made_at=row.made_at, n_photos=n) for row, n in held if n
    )
