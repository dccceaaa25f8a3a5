"""Who may touch what: asked by every service, in the transaction that uses the answer."""

from sqlalchemy.orm import Session

from records.consents import Scope, refusal
from records.errors import ConsentWithdrawn, NotAllowed, NotFound
from records.models import AttemptRow, PhotoRow
from records.people import Person
from records.store import Store


def visible_photo(session: Session, person: Person, photo_id: str) -> PhotoRow:
    """A photo that is there and is a sample or the person's own.

    Raises
    ------
    NotFound, ConsentWithdrawn, NotAllowed
    """
    row = session.get(PhotoRow, photo_id)
    if row is None:
        raise NotFound("There is no such photo.")
    if row.owner_id not in (None, person.id):
        raise NotAllowed("This photo belongs to someone else.")
    if row.removed_at is not None:
        if row.consent.withdrawn_on is not None:
            raise ConsentWithdrawn(f"The consent for this photo was withdrawn on {row.consent.withdrawn_on}.")
        raise NotFound("This photo was removed.")
    return row


def own_photo(session: Session, person: Person, photo_id: str) -> PhotoRow:
    """A photo that the person added. Raises as `visible_photo`, and NotAllowed for a sample."""
    row = visible_photo(session, person, photo_id)
    if row.owner_id is None:
        raise NotAllowed("This photo came with the program and stays as it is.")
    return row


def covered_photo(store: Store, session: Session, person: Person, photo_id: str, use: Scope) -> PhotoRow:
    """A photo whose consent covers that use today. Raises as `visible_photo`, and ConsentRefused."""
    row = visible_photo(session, person, photo_id)
    refused = refusal(row.consent, use, store.today())
    if refused is not None:
        raise refused
    return row


def own_attempt(session: Session, person: Person, attempt_id: str, *, to_change: bool = False) -> AttemptRow:
    """One of the person's attempts, locked against others where it is to change. Raises NotFound, NotAllowed."""
    row = session.get(AttemptRow, attempt_id, with_for_update={"of": AttemptRow} if to_change else None)
    if row is None:
        raise NotFound("This practice is no longer there; its photo may have been withdrawn.")
    if row.person_id != person.id:
        raise NotAllowed("This practice belongs to someone else.")
    return row
