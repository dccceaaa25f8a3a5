"""Who may touch what: asked by every service, in the transaction that uses the answer.

A photo is within reach as a shipped sample, as the person's own, through a class that was given a set with it, or,
for those who teach, through any teaching set that holds it. The consent is asked for the use which that way means.
"""

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.consents import Scope, refusal
from records.errors import ConsentRefused, ConsentWithdrawn, NotAllowed, NotFound
from records.models import AssignmentRow, AttemptRow, MemberRow, PhotoRow, RoleRow, SetPhotoRow
from records.people import Person, Role
from records.store import Store


def visible_photo(session: Session, person: Person, photo_id: str) -> PhotoRow:
    """A photo that is there and within the person's reach.

    Raises
    ------
    NotFound, ConsentWithdrawn, NotAllowed
    """
    row = session.get(PhotoRow, photo_id)
    if row is None:
        raise NotFound("There is no such photo.")
    if row.owner_id not in (None, person.id) and not (
        classes_with(session, person, photo_id) or _in_a_set_for_teachers(session, person, photo_id)
    ):
        raise NotAllowed("This photo belongs to someone else.")
    if row.removed_at is not None:
        if row.consent.withdrawn_on is not None:
            raise ConsentWithdrawn(f"The consent for this photo was withdrawn on {row.consent.withdrawn_on}.")
        raise NotFound("This photo was removed.")
    return row


def own_photo(session: Session, person: Person, photo_id: str) -> PhotoRow:
    """A photo that the person added. Raises as `visible_photo`, and NotAllowed for a sample or another's photo."""
    row = visible_photo(session, person, photo_id)
    if row.owner_id is None:
        raise NotAllowed("This photo came with the program and stays as it is.")
    if row.owner_id != person.id:
        raise NotAllowed("This photo belongs to someone else.")
    return row


def covered_photo(store: Store, session: Session, person: Person, photo_id: str, use: Scope) -> PhotoRow:
    """A photo whose consent covers the use today. Raises as `visible_photo`, and ConsentRefused.

    Practising on another's photo is no practice of one's own: it is class work where a class was given the photo,
    else work on a teaching set, and the consent is asked for that.
    """
    row = visible_photo(session, person, photo_id)
    refused = _refused(store, session, person, row, use)
    if refused is not None:
        raise refused
    return row


def _refused(store: Store, session: Session, person: Person, row: PhotoRow, use: Scope) -> ConsentRefused | None:
    if use != Scope.OWN_PRACTICE or row.owner_id in (None, person.id):
        return refusal(row.consent, use, store.today())
    through_sets = refusal(row.consent, Scope.TEACHING_SETS, store.today())
    classes = classes_with(session, person, row.id)
    if through_sets is None or not classes:
        return through_sets
    return refusal(row.consent, Scope.OWN_CLASS, store.today(), classes)


def classes_with(session: Session, person: Person, photo_id: str) -> frozenset[str]:
    """Ids of the classes of this person, as student or instructor, that were given a set with this photo."""
    found = (
        select(AssignmentRow.class_id)
        .join(MemberRow, MemberRow.class_id == AssignmentRow.class_id)
        .join(SetPhotoRow, SetPhotoRow.version_id == AssignmentRow.version_id)
        .where(
            MemberRow.person_id == person.id,
            MemberRow.left_at.is_(None),
            SetPhotoRow.photo_id == photo_id,
            SetPhotoRow.removed_at.is_(None),
        )
    )
    return frozenset(session.scalars(found))


def _in_a_set_for_teachers(session: Session, person: Person, photo_id: str) -> bool:
    teaches = select(RoleRow.role).where(
        RoleRow.person_id == person.id, RoleRow.role.in_((Role.EDUCATOR.value, Role.INSTRUCTOR.value))
    )
    held = select(SetPhotoRow.photo_id).where(SetPhotoRow.photo_id == photo_id, SetPhotoRow.removed_at.is_(None))
    return session.scalar(teaches.limit(1)) is not None and session.scalar(held.limit(1)) is not None


def own_attempt(session: Session, person: Person, attempt_id: str, *, to_change: bool = False) -> AttemptRow:
    """One of the person's attempts, locked against others where it is to change. Raises NotFound, NotAllowed."""
    row = session.get(AttemptRow, attempt_id, with_for_update={"of": AttemptRow} if to_change else None)
    if row is None:
        raise NotFound("This practice is no longer there; its photo may have been withdrawn.")
    if row.person_id != person.id:
        raise NotAllowed("This practice belongs to someone else.")
    return row
