"""A clock that was ahead for a while, by a year or more, erases nothing for good."""

from datetime import timedelta

import pytest
from class_scene import ClassScene, a_class
from records_scene import START, Clock, Scene, add, clean_jpeg, consent_of

from records.auditing.newest_moment import trust_clock
from records.classroom import classes
from records.consent.retention import daily, erase_due_classes
from records.errors import ConsentExpired
from records.identity import accounts
from records.models import ClassRow
from records.photo.photos import read_bytes
from records.store import Store

PASSWORD = "quiet river stones"


def with_work(scene: Scene) -> ClassScene:
    """A class that is kept for half a year, with something handed in."""
    made = a_class(scene)
    made.do(made.students[0], 1)
    with scene.store.writing() as session:
        session.get_one(ClassRow, made.group.id).keep_until = scene.store.today() + timedelta(days=180)
    return made


def is_there(store: Store, made: ClassScene) -> bool:
    with store.reading() as session:
        return session.get_one(ClassRow, made.group.id).erased_at is None


def sign_in(store: Store) -> None:
    """Write the moment down, as anybody does who uses the program."""
    accounts.sign_in(store, handle="heron", password=PASSWORD, from_where="here")


def test_a_year_ahead_for_some_days_erases_no_class_and_no_photo_and_all_is_there_once_the_clock_is_right(
    scene: Scene,
) -> None:
    made = with_work(scene)
    accounts.first_account(scene.store, handle="heron", password=PASSWORD)
    photo = add(scene.store, scene.person, consent_of(scene.clock, days=30))
    names = scene.photo_names
    for days in (365, 1, 1, 1):
        scene.clock.turn(days=days)
        daily(scene.store)
        sign_in(scene.store)
        with pytest.raises(ConsentExpired):
            read_bytes(scene.store, scene.person, photo.id)
        assert is_there(scene.store, made)
    scene.store.close()
    right = Clock(START + timedelta(days=4))
    store = Store.open(scene.folder, now=right)
    for _ in range(30):
        # Nobody has said yet which of the two is right, so nothing goes, however long that takes.
        right.turn(days=1)
        assert erase_due_classes(store) == 0
    trust_clock(store)
    assert erase_due_classes(store) == 0
    assert is_there(store, made)
    with store.reading() as session:
        assert session.get_one(ClassRow, made.group.id).seen_over is None
    assert scene.photo_names == names
    store.close()
    photo_again = Store.open(scene.folder, now=Clock(START + timedelta(days=20)))
    trust_clock(photo_again)
    assert read_bytes(photo_again, scene.person, photo.id) == clean_jpeg()
    photo_again.close()


def test_a_clock_that_jumps_ahead_and_ahead_again_does_not_erase_at_its_second_jump(scene: Scene) -> None:
    made = with_work(scene)
    for jump in (400, 400):
        scene.clock.turn(days=jump)
        for _ in range(5):
            # However often it is looked at on one day.
            assert erase_due_classes(scene.store) == 0
    assert is_there(scene.store, made)


def test_a_later_last_day_chosen_while_it_waits_keeps_the_work_and_begins_the_count_anew(scene: Scene) -> None:
    made = with_work(scene)
    for days in (181, 3):
        scene.clock.turn(days=days)
        assert erase_due_classes(scene.store) == 0
    later = scene.store.today() + timedelta(days=20)
    classes.change_class(scene.store, made.instructor, made.group.id, title="Linden Room", keep_until=later)
    for days in (10, 10):
        scene.clock.turn(days=days)
        assert erase_due_classes(scene.store) == 0
    for days, erased in ((1, 0), (1, 0), (6, 1)):
        scene.clock.turn(days=days)
        assert erase_due_classes(scene.store) == erased
    assert not is_there(scene.store, made)
