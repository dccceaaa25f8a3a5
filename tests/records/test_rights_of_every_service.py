"""Every service times every role: who is not in the table is refused before anything happens, and it is written down."""

import inspect
import pkgutil
from collections.abc import Callable, Iterator
from importlib import import_module
from typing import Any

import pytest
from records_scene import Scene, make_scene, someone_else

import records
from records.auditing.audit import Outcome, last_entries
from records.errors import NotAllowed
from records.identity.people import Person, Role, add_person
from records.rights import SERVICES, WHO_MAY


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    """One store for all: every test brings people of its own."""
    made = make_scene(tmp_path_factory.mktemp("rights") / "data")
    yield made
    made.store.close()


NOBODY = "0" * 32
_REFUSED_BY_ROLE = "Your roles here do not let you"


def all_services() -> list[str]:
    """The full names, after every module of `records` was imported."""
    for found in pkgutil.walk_packages(records.__path__, "records."):
        if ".migrations" not in found.name and not found.name.endswith("__main__"):
            import_module(found.name)
    return sorted(SERVICES)


def called(name: str) -> Callable[..., object]:
    module, _, function = name.rpartition(".")
    found: Callable[..., object] = getattr(import_module(module), function)
    return found


def anything(parameter: inspect.Parameter) -> Any:
    """A value of about the right kind that names nothing that is there."""
    kind = str(parameter.annotation)
    if "str" in kind:
        return NOBODY
    if "int" in kind:
        return 1
    return None


def call(name: str, scene: Scene, person: Person) -> None:
    service = called(name)
    wanted = list(inspect.signature(service).parameters.values())[2:]
    placed = [anything(one) for one in wanted if one.kind is not one.KEYWORD_ONLY and one.default is one.empty]
    named = {one.name: anything(one) for one in wanted if one.kind is one.KEYWORD_ONLY and one.default is one.empty}
    service(scene.store, person, *placed, **named)


def outcome(name: str, scene: Scene, person: Person) -> str:
    """What the call says, whether it works or not."""
    try:
        call(name, scene, person)
    except Exception as error:
        return str(error)
    return "done"


def test_there_are_services_of_every_kind() -> None:
    assert len(all_services()) >= 60
    assert set(SERVICES.values()) <= set(WHO_MAY)


@pytest.mark.parametrize("name", all_services())
def test_a_service_refuses_every_role_that_the_table_does_not_name_and_no_other(school: Scene, name: str) -> None:
    for role in Role:
        person = someone_else(school.store, role)
        if role not in WHO_MAY[SERVICES[name]]:
            assert_refused(name, school, person)
            continue
        # There is nothing to do it with; what matters is that the role was no obstacle.
        assert _REFUSED_BY_ROLE not in outcome(name, school, person)


@pytest.mark.parametrize("name", all_services())
def test_a_service_refuses_someone_without_any_role_and_a_person_made_up(school: Scene, name: str) -> None:
    with school.store.writing() as session:
        without = add_person(school.store, session, f"without {name}", frozenset())
    boasting = Person(id=without.id, handle="boasting", roles=frozenset(Role))
    for person in (without, boasting, Person(id=NOBODY, handle="made up", roles=frozenset(Role))):
        assert_refused(name, school, person)


def assert_refused(name: str, scene: Scene, person: Person) -> None:
    with pytest.raises(NotAllowed, match=_REFUSED_BY_ROLE):
        call(name, scene, person)
    with scene.store.reading() as session:
        [entry] = last_entries(session, 1)
    assert (entry.actor_id, entry.action, entry.outcome) == (
        person.id,
        name.rpartition(".")[2][:40],
        Outcome.REFUSED,
    )
