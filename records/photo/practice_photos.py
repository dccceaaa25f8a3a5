"""Which photos someone may practise alone on now, by the signs that their keys speak of; never what a key says."""

from collections.abc import Mapping
from types import MappingProxyType

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from records.classroom.class_values import Part
from records.consent.consents import Scope, refusal
from records.identity.people import Person
from records.models import AssignmentRow, ClassRow, KeyRow, MemberRow, PhotoRow, SetPhotoRow
from records.rights import Right, service
from records.store import Store


@service(Right.PRACTISE)
def photos_by_sign(store: Store, person: Person) -> Mapping[str, tuple[str, ...]]:
    """Item id -> ids of photos whose key answers that item, in order of their title.

    Photos that came with the program and the person's own. One that is open class work of this person is left out: it is
    done there, and its key is shown there first.
    """
    found = (
        select(PhotoRow, KeyRow.answers)
        .join(KeyRow, KeyRow.photo_id == PhotoRow.id)
        .where(PhotoRow.removed_at.is_(None), or_(PhotoRow.sample_id.is_not(None), PhotoRow.owner_id == person.id))
        .order_by(PhotoRow.title, PhotoRow.id)
    )
    by_sign: dict[str, list[str]] = {}
    with store.reading() as session:
        at_work = _open_class_work(session, person)
        for photo, answers in session.execute(found):
            if photo.id in at_work or refusal(photo.consent, Scope.OWN_PRACTICE, store.today()) is not None:
                continue
            for item_id in answers["answers"]:
                by_sign.setdefault(item_id, []).append(photo.id)
    return MappingProxyType({item_id: tuple(photos) for item_id, photos in by_sign.items()})


def _open_class_work(session: Session, person: Person) -> frozenset[str]:
    held = (
        select(SetPhotoRow.photo_id)
        .join(AssignmentRow, AssignmentRow.version_id == SetPhotoRow.version_id)
        .join(ClassRow, ClassRow.id == AssignmentRow.class_id)
        .join(MemberRow, MemberRow.class_id == AssignmentRow.class_id)
        .where(
            MemberRow.person_id == person.id,
            MemberRow.part == Part.STUDENT.value,
            MemberRow.left_at.is_(None),
            ClassRow.erased_at.is_(None),
            AssignmentRow.closed_at.is_(None),
        )
    )
    return frozenset(session.scalars(held))
