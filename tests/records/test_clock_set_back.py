"""The computer's clock is set back or was ahead: what had ended stays ended, nobody is locked out for ever."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_scene import MEASURES, START, Clock, Scene, add, clean_jpeg, consent_of, half_done
from sqlalchemy import select

from records.__main__ import main
from records.attempt.handing_in import hand_in, history
from records.auditing.audit import check_chain
from records.auditing.newest_moment import newest_moment, trust_clock
from records.classroom import classes
from records.errors import ConsentExpired, SignInRefused, TooManyTries
from records.identity import accounts, join_codes, joining, sessions
from records.identity.people import local_person
from records.models import AuditRow
from records.photo.photos import list_photos, read_bytes
from records.storage.steady_clock import SteadyClock
from records.store import FOLDER_VARIABLE, Store

PASSWORD = "a long walk by the river"


class Seconds:
    """Seconds that go by when a test says so."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@given(st.lists(st.tuples(st.floats(-1e6, 1e6), st.floats(0, 1e5)), max_size=30))
def test_whatever_is_done_to_the_clock_told_time_never_goes_back(steps: list[tuple[float, float]]) -> None:
    own, seconds = Clock(), Seconds()
    steady = SteadyClock(own, None, elapsed=seconds)
    told = [steady()]
    for turned, went_by in steps:
        seconds.now += went_by
        own.turn(seconds=went_by + turned)
        told.append(steady())
    assert told == sorted(told)


def test_behind_the_newest_moment_time_goes_on_at_its_pace_until_the_clock_has_caught_up() -> None:
    own, seconds = Clock(START), Seconds()
    steady = SteadyClock(own, START + timedelta(days=2), elapsed=seconds)
    assert steady() == START + timedelta(days=2)
    seconds.now = 3600.0
    assert steady() == START + timedelta(days=2, hours=1)
    assert steady.behind == timedelta(days=2, hours=1)
    own.turn(days=3)
    assert steady() == own()
    assert steady.behind == timedelta(0)


def reopened(scene: Scene, clock: Clock) -> Store:
    """The same records, opened by another process while the computer's clock shows something else."""
    scene.store.close()
    return Store.open(scene.folder, now=clock)


def test_a_session_that_ended_for_want_of_use_does_not_come_back(scene: Scene) -> None:
    mine = accounts.first_account(scene.store, handle="heron", password=PASSWORD)
    scene.clock.turn(hours=9)
    other = accounts.sign_in(scene.store, handle="heron", password=PASSWORD, from_where="here")
    assert sessions.person_for_token(scene.store, mine.token) is None
    scene.clock.turn(hours=-8)
    assert sessions.person_for_token(scene.store, mine.token) is None
    store = reopened(scene, Clock(START + timedelta(hours=1)))
    assert sessions.person_for_token(store, mine.token) is None
    assert sessions.person_for_token(store, other.token) is not None
    store.close()


def test_a_class_code_whose_time_is_over_opens_nothing_again(scene: Scene) -> None:
    teacher = accounts.first_account(scene.store, handle="heron", password=PASSWORD).person
    until = scene.store.today() + timedelta(days=200)
    group = classes.new_class(scene.store, teacher, title="Linden Room", keep_until=until)
    code = join_codes.make_join_code(scene.store, teacher, group.id, days=1).code
    scene.clock.turn(days=2)
    accounts.sign_in(scene.store, handle="heron", password=PASSWORD, from_where="here")
    scene.clock.turn(days=-2)
    store = reopened(scene, Clock(START))
    for opened in (scene.store, store):
        with pytest.raises(SignInRefused):
            joining.join_with_new_account(opened, code=code, handle="wren", password=PASSWORD, from_where="there")
    store.close()


def test_a_consent_that_ran_out_covers_nothing_again(scene: Scene) -> None:
    photo = add(scene.store, scene.person, consent_of(scene.clock, days=3))
    assert read_bytes(scene.store, scene.person, photo.id) == clean_jpeg()
    scene.clock.turn(days=5)
    doll = add(scene.store, scene.person)
    attempt = half_done(scene.store, scene.person, doll)
    hand_in(scene.store, scene.person, attempt.id, measures_json=MEASURES, measure_version="7")
    scene.clock.turn(days=-4)
    with pytest.raises(ConsentExpired):
        read_bytes(scene.store, scene.person, photo.id)
    accounts.first_account(scene.store, handle="heron", password=PASSWORD)
    store = reopened(scene, Clock(START + timedelta(days=1)))
    with pytest.raises(ConsentExpired):
        read_bytes(store, scene.person, photo.id)
    assert read_bytes(store, scene.person, doll.id) == clean_jpeg()
    assert len(history(store, scene.person)) == 1
    store.close()


def test_whoever_has_to_wait_waits_minutes_however_far_the_clock_went_back(scene: Scene) -> None:
    accounts.first_account(scene.store, handle="heron", password=PASSWORD)
    for _ in range(5):
        with pytest.raises(SignInRefused):
            accounts.sign_in(scene.store, handle="heron", password="wrong", from_where="here")
    with pytest.raises(TooManyTries):
        accounts.sign_in(scene.store, handle="heron", password=PASSWORD, from_where="here")
    seconds, back = Seconds(), Clock(START - timedelta(days=3000))
    store = reopened(scene, back)
    with store.reading() as session:
        store.now = SteadyClock(back, newest_moment(session), elapsed=seconds)
    with pytest.raises(TooManyTries):
        accounts.sign_in(store, handle="heron", password=PASSWORD, from_where="here")
    seconds.now += 61
    signed_in = accounts.sign_in(store, handle="heron", password=PASSWORD, from_where="here")
    assert sessions.person_for_token(store, signed_in.token) == signed_in.person
    store.close()


def test_the_log_stays_in_order_and_holds_together(scene: Scene) -> None:
    for turned in (3, -2, 1, -30):
        scene.clock.turn(days=turned)
        person = local_person(scene.store)
        attempt = half_done(scene.store, person, add(scene.store, person))
        hand_in(scene.store, person, attempt.id, measures_json=MEASURES, measure_version="7")
    accounts.first_account(scene.store, handle="heron", password=PASSWORD)
    store = reopened(scene, Clock(START - timedelta(days=10)))
    accounts.sign_in(store, handle="heron", password=PASSWORD, from_where="here")
    assert check_chain(store).broken_at is None
    with store.reading() as session:
        moments = list(session.scalars(select(AuditRow.at).order_by(AuditRow.number)))
    assert len(moments) >= 2
    assert moments == sorted(moments)
    store.close()


def test_a_clock_that_was_ahead_by_mistake_is_believed_again_once_somebody_vouches_for_it(
    sqlite_scene: Scene, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    photo = add(sqlite_scene.store, sqlite_scene.person, consent_of(sqlite_scene.clock, days=3))
    sqlite_scene.clock.turn(days=4000)
    accounts.first_account(sqlite_scene.store, handle="heron", password=PASSWORD)
    right = Clock(START + timedelta(days=1))
    store = reopened(sqlite_scene, right)
    with pytest.raises(ConsentExpired):
        read_bytes(store, sqlite_scene.person, photo.id)
    trust_clock(store)
    assert store.now() == right()
    assert read_bytes(store, sqlite_scene.person, photo.id) == clean_jpeg()
    store.close()
    again = Store.open(sqlite_scene.folder, now=right)
    assert again.now() == right()
    assert [one.id for one in list_photos(again, sqlite_scene.person)] == [photo.id]
    assert check_chain(again).broken_at is None
    again.close()
    monkeypatch.setenv(FOLDER_VARIABLE, str(sqlite_scene.folder))
    assert main(["trust-clock"]) == 0
    assert f"{datetime.now().year}" in capsys.readouterr().out
