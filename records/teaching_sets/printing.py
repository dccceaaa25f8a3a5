"""What goes on paper: a published version with its keys, for educators, and for whoever runs a class that was given it."""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.errors import NotAllowed
from records.identity.people import Person, Role
from records.models import AssignmentRow, ClassRow, MemberRow
from records.rights import Right, roles_of, service
from records.store import Store
from records.teaching_sets.reading import keys_in
from records.teaching_sets.rows import version_row
from records.teaching_sets.values import FrozenKey, VersionRecord, record_of


@dataclass(frozen=True, kw_only=True)
class SheetToPrint:
    """A version, and photo id -> the key that it holds; a draft holds none."""

    version: VersionRecord
    keys: Mapping[str, FrozenKey]


@service(Right.PRINT_SET)
def sheet_to_print(store: Store, person: Person, version_id: str) -> SheetToPrint:
    """All that a worksheet needs besides the photos, whose consents are asked when they are read.

    Raises
    ------
    NotFound
    NotAllowed
        For someone who builds no sets and runs no class that was given this version.
    """
    builds = Role.EDUCATOR in roles_of(store, person.id)
    with store.reading() as session:
        row = version_row(session, version_id)
        if not builds and not _given_to_a_class_of(session, person, version_id):
            raise NotAllowed("Worksheets are printed of sets that were given to a class of yours; this one was not.")
        return SheetToPrint(version=record_of(store, session, row), keys=keys_in(row))


def _given_to_a_class_of(session: Session, person: Person, version_id: str) -> bool:
    given = (
        select(AssignmentRow.id)
        .join(MemberRow, MemberRow.class_id == AssignmentRow.class_id)
        .join(ClassRow, ClassRow.id == AssignmentRow.class_id)
        .where(
            AssignmentRow.version_id == version_id,
            MemberRow.person_id == person.id,
            MemberRow.part == "instructor",
            MemberRow.left_at.is_(None),
            ClassRow.erased_at.is_(None),
        )
    )
    return session.scalar(given.limit(1)) is not None
