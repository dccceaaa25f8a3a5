"""Who may touch what: asked by every service, in the transaction that uses the answer.

A photo is within reach as a shipped sample, as the person's own, through a class that was given a set with it, or,
for those who teach, through any teaching set that holds it. The consent is asked for the use which that way means.
"""

from sqlalchemy import and_, exists, or_, select
from sqlalchemy.orm import Session

from records.consent.consents import Scope, refusal
from records.errors import ConsentRefused, ConsentWithdrawn, NotAllowed, NotFound
from records.identity.people import Person, Role
from records.models import AssignmentRow, AttemptRow, ClassRow, MemberRow, PhotoRow, RoleRow, SetPhotoRow, VersionRow
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
        classes_with(session, person, photo_id) or in_a_set_for_teachers(session, person, photo_id)
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


def photo_to_practise_on(store: Store, session: Session, person: Person, photo_id: str) -> PhotoRow:
    """A photo that someone may take up alone, outside of class work. Raises as `covered_photo`.

    What a student reaches through a class only is class work: its key follows the rule of the class.
    """
    row = covered_photo(store, session, person, photo_id, Scope.OWN_PRACTICE)
    if row.owner_id not in (None, person.id) and not in_a_set_for_teachers(session, person, photo_id):
        raise NotAllowed("This photo is class work; please open it from the page Class work.")
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
    """Ids of the classes of this person through which the photo is within reach.

    Whoever runs the class reaches what it was given; a student too while the work is open, and afterwards the photos
    of what he or she handed in.
    """
    own_work = exists().where(
        AttemptRow.assignment_id == AssignmentRow.id,
        AttemptRow.person_id == person.id,
        AttemptRow.photo_id == photo_id,
        AttemptRow.handed_in_at.is_not(None),
    )
    found = (
        select(AssignmentRow.class_id)
        .join(MemberRow, MemberRow.class_id == AssignmentRow.class_id)
        .join(ClassRow, ClassRow.id == AssignmentRow.class_id)
        .join(VersionRow, VersionRow.id == AssignmentRow.version_id)
        .join(SetPhotoRow, SetPhotoRow.version_id == AssignmentRow.version_id)
        .where(
            MemberRow.person_id == person.id,
            MemberRow.left_at.is_(None),
            ClassRow.erased_at.is_(None),
            VersionRow.state != "draft",
            SetPhotoRow.photo_id == photo_id,
            SetPhotoRow.removed_at.is_(None),
            or_(MemberRow.part == "instructor", AssignmentRow.closed_at.is_(None), own_work),
        )
    )
    return frozenset(session.scalars(found))


def in_a_set_for_teachers(session: Session, person: Person, photo_id: str) -> bool:
    """Whether the person teaches and a teaching set holds the photo."""
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


def part_in(session: Session, person: Person, class_id: str) -> str | None:
    """What the person is in that class now, "instructor" or "student"; None for someone who does not belong to it."""
    return session.scalar(
        select(MemberRow.part).where(
            and_(MemberRow.class_id == class_id, MemberRow.person_id == person.id, MemberRow.left_at.is_(None))
        )
    )


def instructed_class(session: Session, person: Person, class_id: str, *, to_change: bool = False) -> ClassRow:
    """A class that the person runs. Raises NotFound, NotAllowed."""
    row = session.get(ClassRow, class_id, with_for_update={"of": ClassRow} if to_change else None)
    if row is None or row.erased_at is not None:
        raise NotFound("There is no such class, or its time is over.")
    if part_in(session, person, class_id) != "instructor":
        raise NotAllowed("This class is run by someone else.")
    return row


def instructed_work(session: Session, person: Person, assignment_id: str, *, to_change: bool = False) -> AssignmentRow:
    """Work that was given to a class which the person runs. Raises NotFound, NotAllowed."""
    row = _work(session, assignment_id, to_change=to_change)
    instructed_class(session, person, row.class_id)
    return row


def work_of_student(session: Session, person: Person, assignment_id: str, *, to_change: bool = False) -> AssignmentRow:
    """Work that was given to a class to which the person belongs as a student. Raises NotFound, NotAllowed."""
    row = _work(session, assignment_id, to_change=to_change)
    if row.group.erased_at is not None:
        raise NotFound("This class work is no longer there; the time of its class is over.")
    if part_in(session, person, row.class_id) != "student":
        raise NotAllowed("This work was given to a class to which you do not belong as a student.")
    return row


def check_still_open(session: Session, person: Person, attempt: AttemptRow) -> None:
    """Return where an attempt may still change: practised alone, or in class work that is open. Raises NotAllowed."""
    if attempt.assignment_id is None:
        return
    row = work_of_student(session, person, attempt.assignment_id)
    if row.closed_at is not None:
        raise NotAllowed(
            "This class work is closed, so nothing was changed; what you saved stays, and your instructor can open it again."
        )


def attempt_to_review(session: Session, person: Person, attempt_id: str) -> AttemptRow:
    """Class work that was handed in, of a class which the person runs. Raises NotFound, NotAllowed."""
    row = session.get(AttemptRow, attempt_id)
    if row is None:
        raise NotFound("There is no such piece of work.")
    if row.assignment_id is None:
        raise NotAllowed("This was practised alone and is nobody else's to read.")
    instructed_work(session, person, row.assignment_id)
    if row.handed_in_at is None:
        raise NotAllowed("This work has not been handed in yet.")
    return row


def _work(session: Session, assignment_id: str, *, to_change: bool) -> AssignmentRow:
    row = session.get(AssignmentRow, assignment_id, with_for_update={"of": AssignmentRow} if to_change else None)
    if row is None:
        raise NotFound("There is no such class work.")
    return row
