"""One table says who may do what, every service stands behind it, and the log of refusals cannot be changed unseen."""

import inspect
import pkgutil
from collections.abc import Iterator
from importlib import import_module

import pytest
from records_scene import Scene, add, someone_else
from sqlalchemy import text

import records
from records.auditing.audit import Outcome, append, check_chain, last_entries
from records.errors import NotAllowed
from records.identity.people import Person, Role, local_person
from records.photo.photos import get_photo, list_photos
from records.rights import SERVICES, WHO_MAY, Right, check_right
from records.store import Store

#: They answer before anyone is known, or are asked by other services within their transaction.
NOT_SERVICES = {"records.identity.people.local_person", "records.rights.check_right"}


def public_functions_of_a_person() -> Iterator[str]:
    """Every public function of `records` that takes the store and an acting person."""
    for found in pkgutil.walk_packages(records.__path__, "records."):
        if ".migrations" in found.name or found.name.endswith("__main__"):
            continue
        module = import_module(found.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            taken = list(inspect.signature(function).parameters)
            if function.__module__ == found.name and not name.startswith("_") and taken[:2] == ["store", "person"]:
                yield f"{found.name}.{name}"


def test_every_function_that_takes_an_acting_person_stands_behind_a_right() -> None:
    found = set(public_functions_of_a_person())
    assert len(found) >= 22
    assert found - set(SERVICES) - NOT_SERVICES == set()


def test_the_table_names_every_right_and_gives_each_to_someone() -> None:
    assert set(WHO_MAY) == set(Right)
    assert all(WHO_MAY.values())


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("right", Right)
def test_a_role_has_exactly_the_rights_that_the_table_gives_it(scene: Scene, right: Right, role: Role) -> None:
    person = someone_else(scene.store, role)
    if role in WHO_MAY[right]:
        check_right(scene.store, person, right)
    else:
        with pytest.raises(NotAllowed):
            check_right(scene.store, person, right)


def test_roles_are_read_afresh_and_what_a_screen_remembers_counts_for_nothing(scene: Scene) -> None:
    person = someone_else(scene.store, Role.STUDENT)
    boasting = Person(id=person.id, handle=person.handle, roles=frozenset(Role))
    with pytest.raises(NotAllowed):
        check_right(scene.store, boasting, Right.READ_AUDIT)
    with scene.store.writing() as session:
        session.execute(text("DELETE FROM person_role WHERE person_id = :id"), {"id": person.id})
    with pytest.raises(NotAllowed):
        list_photos(scene.store, person)


def test_a_refusal_is_written_down_with_ids_only(scene: Scene) -> None:
    photo = add(scene.store, scene.person, title="a title that stays out of the log")
    other = someone_else(scene.store)
    with pytest.raises(NotAllowed):
        get_photo(scene.store, other, photo.id)
    with scene.store.reading() as session:
        [entry] = last_entries(session, 1)
    assert (entry.actor_id, entry.action, entry.outcome, entry.object_id) == (
        other.id,
        "get_photo",
        Outcome.REFUSED,
        photo.id,
    )


def test_text_of_a_person_never_reaches_the_log(scene: Scene) -> None:
    with scene.store.writing() as session:
        append(scene.store, session, actor_id=None, action="sign_in", object_id="a name that somebody typed")
        [entry] = last_entries(session, 1)
    assert entry.object_id is None


def filled(store: Store) -> None:
    person = local_person(store)
    with store.writing() as session:
        for number in range(5):
            append(store, session, actor_id=person.id, action=f"step {number}")


@pytest.mark.parametrize(
    ("change", "broken_at"),
    [
        ("UPDATE audit_entry SET action = 'another' WHERE number = 3", 3),
        ("UPDATE audit_entry SET outcome = 'refused' WHERE number = 5", 5),
        ("DELETE FROM audit_entry WHERE number = 2", 2),
        ("UPDATE audit_entry SET number = 9 WHERE number = 5", 5),
    ],
)
def test_a_changed_or_missing_line_breaks_the_chain_there(scene: Scene, change: str, broken_at: int) -> None:
    filled(scene.store)
    assert check_chain(scene.store).broken_at is None
    assert check_chain(scene.store).n_entries == 5
    with scene.store.writing() as session:
        session.execute(text(change))
    assert check_chain(scene.store).broken_at == broken_at
