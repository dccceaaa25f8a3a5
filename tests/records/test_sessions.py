"""Sessions: what is kept of a token, when it ends, and that it ends at once."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_scene import Clock, Scene
from sqlalchemy import select, text

from records.errors import NotAllowed
from records.identity import accounts, sessions
from records.identity.people import LOCAL_HANDLE, Person, Role
from records.identity.sessions import person_for_token
from records.models import SessionRow
from records.settings import Settings, change_settings, door_secret, read_settings
from records.store import Store

PASSWORD = "quiet river stones"


@pytest.fixture
def signed_in(scene: Scene) -> accounts.SignedIn:
    return accounts.first_account(scene.store, handle="heron", password=PASSWORD)


def again(scene: Scene) -> accounts.SignedIn:
    return accounts.sign_in(scene.store, handle="heron", password=PASSWORD, from_where="10.0.0.1")


def here(scene: Scene, signed_in: accounts.SignedIn) -> Person | None:
    return person_for_token(scene.store, signed_in.token)


def test_only_a_hash_of_the_token_is_kept(scene: Scene, signed_in: accounts.SignedIn) -> None:
    assert len(signed_in.token) >= 43  # 256 bits in base 64
    assert signed_in.token.encode() not in scene.bytes_on_disk()
    with scene.store.reading() as session:
        kept = session.scalars(select(SessionRow.token_sha256)).one()
    assert kept != signed_in.token
    assert person_for_token(scene.store, kept) is None


@pytest.mark.parametrize("token", [None, "", "x", "0" * 43, "\ud800", "a'; --"])
def test_any_other_token_is_nobodys(scene: Scene, signed_in: accounts.SignedIn, token: str | None) -> None:
    assert here(scene, signed_in) is not None
    assert person_for_token(scene.store, token) is None


def test_a_session_ends_after_eight_hours_without_use(scene: Scene, signed_in: accounts.SignedIn) -> None:
    scene.clock.turn(hours=7, minutes=59)
    assert here(scene, signed_in) is not None
    scene.clock.turn(hours=7, minutes=59)
    assert here(scene, signed_in) is not None
    scene.clock.turn(hours=8, minutes=1)
    assert here(scene, signed_in) is None


def test_a_session_in_constant_use_ends_after_seven_days(scene: Scene, signed_in: accounts.SignedIn) -> None:
    for _ in range(7 * 24 - 1):
        scene.clock.turn(hours=1)
        assert here(scene, signed_in) is not None
    scene.clock.turn(hours=1, seconds=1)
    assert here(scene, signed_in) is None


def test_a_school_chooses_when_sessions_end(scene: Scene, signed_in: accounts.SignedIn) -> None:
    change_settings(scene.store, signed_in.person, Settings(idle_hours=1, longest_days=1, revision=1))
    second = again(scene)
    scene.clock.turn(minutes=61)
    assert here(scene, signed_in) is None
    assert here(scene, second) is None


def test_reading_a_page_does_not_write_each_time(scene: Scene, signed_in: accounts.SignedIn) -> None:
    def seen() -> object:
        with scene.store.reading() as session:
            return session.scalars(select(SessionRow.seen_at)).one()

    before = seen()
    scene.clock.turn(seconds=100)
    here(scene, signed_in)
    assert seen() == before
    scene.clock.turn(seconds=100)
    here(scene, signed_in)
    assert seen() != before


def test_signing_out_ends_this_session_at_once_and_no_other(scene: Scene, signed_in: accounts.SignedIn) -> None:
    second = again(scene)
    sessions.sign_out(scene.store, signed_in.token)
    assert here(scene, signed_in) is None
    assert here(scene, second) is not None
    sessions.sign_out(scene.store, signed_in.token)
    sessions.sign_out(scene.store, None)
    sessions.sign_out(scene.store, "unknown")


def test_signing_out_everywhere_ends_all_of_them(scene: Scene, signed_in: accounts.SignedIn) -> None:
    second = again(scene)
    assert sessions.sign_out_everywhere(scene.store, signed_in.person) == 2
    assert here(scene, signed_in) is None
    assert here(scene, second) is None


def test_ending_every_session_leaves_nobody_signed_in(scene: Scene, signed_in: accounts.SignedIn) -> None:
    second = again(scene)
    with scene.store.writing() as session:
        assert sessions.end_every_session(scene.store, session) == 2
        assert sessions.end_every_session(scene.store, session) == 0
    assert (here(scene, signed_in), here(scene, second)) == (None, None)
    assert here(scene, again(scene)) is not None


def test_an_ended_session_does_not_come_back_when_the_clock_is_turned_back(
    scene: Scene, signed_in: accounts.SignedIn
) -> None:
    sessions.sign_out(scene.store, signed_in.token)
    scene.clock.turn(days=-1)
    assert here(scene, signed_in) is None


def test_roles_of_a_session_are_read_at_each_call(scene: Scene, signed_in: accounts.SignedIn) -> None:
    with scene.store.writing() as session:
        session.execute(text("DELETE FROM person_role WHERE role <> 'student'"))
    person = here(scene, signed_in)
    assert person is not None
    assert person.roles == {Role.STUDENT}


def test_an_erased_person_is_nobody(scene: Scene, signed_in: accounts.SignedIn) -> None:
    with scene.store.writing() as session:
        session.execute(text("UPDATE person SET erased_at = created_at WHERE handle = 'heron'"))
    assert here(scene, signed_in) is None


def test_rows_of_sessions_that_ended_long_ago_are_dropped(scene: Scene, signed_in: accounts.SignedIn) -> None:
    scene.clock.turn(days=60)
    again(scene)
    with scene.store.reading() as session:
        assert len(session.scalars(select(SessionRow)).all()) == 1
    assert here(scene, signed_in) is None


def test_working_alone_is_closed_unless_the_school_leaves_it_open(scene: Scene, signed_in: accounts.SignedIn) -> None:
    with pytest.raises(NotAllowed):
        sessions.work_alone(scene.store)
    change_settings(scene.store, signed_in.person, Settings(alone_open=True, revision=1))
    alone = sessions.work_alone(scene.store)
    assert alone.person.handle == LOCAL_HANDLE
    assert alone.person.roles == {Role.STUDENT}
    assert here(scene, alone) == alone.person
    now = read_settings(scene.store)
    change_settings(scene.store, signed_in.person, Settings(alone_open=False, revision=now.revision))
    assert here(scene, alone) is None


def test_two_processes_on_one_database_know_each_others_sessions_and_marks(
    scene: Scene, signed_in: accounts.SignedIn
) -> None:
    other = Store.open(scene.folder, now=scene.clock)
    try:
        assert person_for_token(other, signed_in.token) == signed_in.person
        assert door_secret(other) == door_secret(scene.store)
        sessions.sign_out(other, signed_in.token)
        assert here(scene, signed_in) is None
    finally:
        other.close()


@given(st.lists(st.integers(min_value=0, max_value=600), max_size=12))
def test_a_session_lives_exactly_while_each_pause_is_short_and_the_whole_is_not_too_long(pauses: list[int]) -> None:
    settings, clock = Settings(), Clock()
    start = seen = clock()
    alive = True
    for minutes in pauses:
        clock.turn(minutes=minutes)
        row = SessionRow(started_at=start, seen_at=seen, ends_at=start + settings.longest, ended_at=None)
        alive = alive and minutes < 480
        assert sessions._lives(row, clock(), lambda: settings.idle) == (alive and clock() - start < settings.longest)
        if not alive:
            return
        seen = clock()
