"""Taking an example class out again, with everything that was made for it."""

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from records.access import instructed_class
from records.classroom.example_values import MADE
from records.consent.ending import Gone
from records.consent.erasing import erase_class
from records.consent.for_good import write_down
from records.consent.journal import Kind
from records.errors import InvalidRecord
from records.identity.people import Person
from records.models import AssignmentRow, AuditRow, BundleRow, SetRow, VersionRow
from records.rights import Right, service
from records.store import Store


@service(Right.RUN_CLASS)
def remove_example_class(store: Store, person: Person, class_id: str) -> None:
    """Take an example out with its work, its invented students, and its set unless that went elsewhere too.

    Raises
    ------
    NotFound, NotAllowed
    InvalidRecord
        For a class that is no example.
    """
    with store.writing() as session:
        group = instructed_class(session, person, class_id, to_change=True)
        made = select(AuditRow.number).where(AuditRow.action == MADE, AuditRow.object_id == class_id)
        if session.scalar(made) is None:
            raise InvalidRecord("This class is no example; its work is kept until its last day.")
        erase_class(session, group, now=store.now())
        given = session.scalars(select(AssignmentRow).where(AssignmentRow.class_id == class_id)).all()
        versions = {work.version_id for work in given}
        session.execute(delete(AssignmentRow).where(AssignmentRow.class_id == class_id))
        session.expire_all()
        for version_id in versions:
            _remove_set(session, session.get_one(VersionRow, version_id).set, person)
        write_down(
            store,
            session,
            actor_id=person.id,
            action="remove_example_class",
            kind=Kind.CLASS_ERASED,
            object_id=class_id,
            gone=Gone(),
        )
    store.forget_deleted()


def _remove_set(session: Session, made: SetRow, person: Person) -> None:
    """Delete a set that this person owns, that no class has any more, and that never left this machine."""
    versions = [version.id for version in made.versions]
    used = session.scalar(select(AssignmentRow.id).where(AssignmentRow.version_id.in_(versions)).limit(1))
    left = session.scalar(select(BundleRow.id).where(BundleRow.version_id.in_(versions)).limit(1))
    if made.owner_id != person.id or used is not None or left is not None:
        return
    for version in list(made.versions):
        session.delete(version)
    session.flush()
    session.expire(made)
    session.delete(made)
