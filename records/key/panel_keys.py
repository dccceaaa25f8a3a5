"""How experts read the photos that a class was given, without saying who: where they part, nobody is graded."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from sqlalchemy import select

from records.access import instructed_work
from records.classroom.slots import photos_of
from records.identity.people import Person
from records.models import AttemptRow, ExpertKeyRow
from records.rights import Right, service
from records.store import Store
from rubric.answers import ReferenceKey
from rubric.scoring import key_from_json


@service(Right.REVIEW)
def panel_keys(store: Store, person: Person, assignment_id: str) -> Mapping[int, tuple[ReferenceKey, ...]]:
    """Place in the assignment -> the readings of its photo, in no telling order; empty where nobody read it.

    Raises
    ------
    NotFound, NotAllowed
        For whoever does not run this class.
    """
    with store.reading() as session:
        places = photos_of(instructed_work(session, person, assignment_id))
        asked = select(ExpertKeyRow).where(ExpertKeyRow.photo_id.in_([place.photo_id for place in places]))
        by_photo: dict[str, list[ReferenceKey]] = {}
        for row in session.scalars(asked.order_by(ExpertKeyRow.photo_id, ExpertKeyRow.expert_id)):
            by_photo.setdefault(row.photo_id, []).append(key_from_json(row.answers))
        found = {slot: tuple(by_photo.get(place.photo_id, ())) for slot, place in enumerate(places, start=1)}
    return MappingProxyType(found)


@service(Right.REVIEW)
def parted_by_slot(store: Store, person: Person, assignment_id: str) -> Mapping[int, frozenset[str]]:
    """Place in the assignment -> signs on which the experts part. Raises NotFound, NotAllowed as `panel_keys`."""
    found = panel_keys(store, person, assignment_id)
    return MappingProxyType({slot: _parted(keys) for slot, keys in found.items()})


def _parted(keys: Iterable[ReferenceKey]) -> frozenset[str]:
    said: dict[str, set[str]] = {}
    for key in keys:
        for item_id, answer in key.answers.items():
            said.setdefault(item_id, set()).add(answer.answer.value)
    return frozenset(item_id for item_id, answers in said.items() if len(answers) > 1)


@service(Right.PRACTISE)
def parted_signs(store: Store, person: Person) -> Mapping[str, frozenset[str]]:
    """Photo id -> signs on which its experts part, for photos on which this person handed in; not how they read them."""
    done = select(AttemptRow.photo_id).where(AttemptRow.person_id == person.id, AttemptRow.handed_in_at.is_not(None))
    asked = select(ExpertKeyRow.photo_id, ExpertKeyRow.answers).where(ExpertKeyRow.photo_id.in_(done))
    by_photo: dict[str, list[ReferenceKey]] = {}
    with store.reading() as session:
        for photo_id, stored in session.execute(asked):
            by_photo.setdefault(photo_id, []).append(key_from_json(stored))
    return MappingProxyType({photo_id: _parted(keys) for photo_id, keys in by_photo.items()})
