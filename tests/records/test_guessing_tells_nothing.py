"""How long an answer takes tells nobody which names and codes there are, and a class behind one address gets in."""

import statistics
import time
from collections.abc import Callable, Mapping
from datetime import timedelta

import pytest
from records_scene import Scene, is_one_sentence
from sqlalchemy import delete
from test_accounts_of_others import class_of

from records.errors import SignInRefused
from records.identity import accounts, join_codes, joining
from records.identity.people import Person, Role
from records.identity.sessions import person_for_token
from records.models import ClassRow, TriesRow

PASSWORD = "quiet river stones"
TRIES = 40


@pytest.fixture
def robin(scene: Scene) -> Person:
    """The first account of a school."""
    return accounts.first_account(scene.store, handle="robin", password=PASSWORD).person


def medians(scene: Scene, asked: Mapping[str, Callable[[], object]]) -> dict[str, float]:
    """Seconds until each is refused, the middle of forty, asked in turn so that a busy machine slows all of them alike."""
    took: dict[str, list[float]] = {name: [] for name in asked}
    said = set()
    for at in range(TRIES + 1):
        for name, ask in asked.items():
            with scene.store.writing() as session:
                session.execute(delete(TriesRow))
            before = time.perf_counter()
            with pytest.raises(SignInRefused) as refused:
                ask()
            # The first round computes what is computed once a process.
            if at:
                took[name].append(time.perf_counter() - before)
            said.add(str(refused.value))
    assert len(said) == 1, said
    assert is_one_sentence(refused.value)
    return {name: statistics.median(seconds) for name, seconds in took.items()}


def test_known_unknown_and_closed_names_are_refused_after_the_same_time(scene: Scene, robin: Person) -> None:
    closed, _ = accounts.make_account(scene.store, robin, handle="wren", roles=frozenset({Role.STUDENT}))
    accounts.close_account(scene.store, robin, closed.id)

    def wrong(handle: str, password: str = "a wrong password") -> Callable[[], object]:
        return lambda: accounts.sign_in(scene.store, handle=handle, password=password, from_where="there")

    took = medians(scene, {name: wrong(name) for name in ("robin", "wren", "nobody")})
    # Without the hash that is nobody's an unknown name would take half the time and less; here it is 1.04 and less.
    assert max(took.values()) / min(took.values()) < 1.6, took


def test_ended_and_unknown_codes_are_refused_after_the_same_time(scene: Scene, robin: Person) -> None:
    class_id = class_of(scene, robin)
    ended = join_codes.make_join_code(scene.store, robin, class_id)
    join_codes.end_join_code(scene.store, robin, ended.id)
    over = join_codes.make_join_code(scene.store, robin, class_id, days=1)
    other = class_of(scene, robin)
    of_an_old_class = join_codes.make_join_code(scene.store, robin, other).code
    with scene.store.writing() as session:
        session.get_one(ClassRow, other).keep_until = scene.store.today() - timedelta(days=1)
    scene.clock.turn(days=2)

    def tried(code: str) -> Callable[[], object]:
        return lambda: joining.join_with_new_account(
            scene.store, code=code, handle="robin", password=PASSWORD, from_where="there"
        )

    codes = {"ended": ended.code, "over": over.code, "of an old class": of_an_old_class, "unknown": "abcd-efgh"}
    took = medians(scene, {name: tried(code) for name, code in codes.items()})
    assert max(took.values()) / min(took.values()) < 2, took


def test_thirty_students_behind_one_address_who_each_mistype_once_all_join_and_sign_in(
    scene: Scene, robin: Person
) -> None:
    code = join_codes.make_join_code(scene.store, robin, class_of(scene, robin)).code
    names = [f"student {number}" for number in range(30)]
    for name in names:
        with pytest.raises(SignInRefused):
            joining.join_with_new_account(
                scene.store, code="abcd-efgh", handle=name, password=PASSWORD, from_where="room"
            )
    for name in names:
        joined = joining.join_with_new_account(
            scene.store, code=code, handle=name, password=PASSWORD, from_where="room"
        )
        assert person_for_token(scene.store, joined.token) is not None
    scene.clock.turn(minutes=16)
    for name in names:
        with pytest.raises(SignInRefused):
            accounts.sign_in(scene.store, handle=name, password="mistyped, alas", from_where="room")
        assert accounts.sign_in(scene.store, handle=name, password=PASSWORD, from_where="room").person.handle == name
