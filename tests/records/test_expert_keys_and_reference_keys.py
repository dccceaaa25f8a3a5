"""Experts read a photo each for themselves; a reference key is written by one, remembers who changed what, and is never lost."""

from dataclasses import replace
from datetime import timedelta

import pytest
from records_scene import KEY, KEY_POINTS, POINTS, Scene, add, clean_jpeg, consent_of, someone_else
from sqlalchemy import text

from records import teaching_sets as sets
from records.auditing.audit import last_entries
from records.consent.consents import Scope
from records.consent.withdrawal import withdraw
from records.errors import ConsentMissing, ConsentWithdrawn, NotAllowed, NotFound, StaleWrite
from records.identity.people import Person, Role
from records.key.expert_keys import (
    expert_keys_in,
    expert_keys_of,
    open_expert_keys,
    set_expert_key,
)
from records.key.keys import set_key
from records.key.reference_keys import How, key_to_edit, write_key
from records.photo.photo_readings import (
    keep_look_hash,
    keep_proposed_points,
    look_hashes,
    photos_to_read,
    proposed_points,
)
from records.photo.photos import PhotoRecord
from records.photo.samples import ensure_sample
from rubric.answers import Answer, KeyAnswer, View
from vision.landmarks import LandmarkSet, Point

OTHER_KEY = replace(KEY, answers={"stays_wide": KeyAnswer(answer=Answer.NOT_SEEN, why="the lower lip is tucked in")})


def in_a_set(scene: Scene, photo: PhotoRecord) -> str:
    """Put the photo into a draft; returns the version's id."""
    draft = sets.new_set(scene.store, scene.person, "First looks").draft
    assert draft is not None
    sets.add_photos(scene.store, scene.person, draft.id, [photo.id], expected_revision=1)
    return draft.id


def experts(scene: Scene) -> tuple[Person, Person]:
    return someone_else(scene.store, Role.INSTRUCTOR), someone_else(scene.store, Role.EDUCATOR)


def test_an_expert_sees_how_many_readings_there_are_and_none_of_them_before_giving_one(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    in_a_set(scene, photo)
    first, second = experts(scene)
    given = set_expert_key(scene.store, first, photo.id, KEY, KEY_POINTS, expected_revision=0)
    assert (given.key, given.landmarks, given.revision, given.expert) == (KEY, KEY_POINTS, 1, first.handle)
    before = expert_keys_of(scene.store, second, photo.id)
    assert (before.mine, before.n_experts, before.all, before.opened) == (None, 1, (), False)
    mine = set_expert_key(scene.store, second, photo.id, OTHER_KEY, POINTS, expected_revision=0)
    after = expert_keys_of(scene.store, second, photo.id)
    assert after.mine == mine
    assert {one.expert_id: one.key for one in after.all} == {first.id: KEY, second.id: OTHER_KEY}


def test_an_own_reading_may_change_and_an_old_page_overwrites_nothing(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    set_expert_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS, expected_revision=0)
    newer = set_expert_key(scene.store, scene.person, photo.id, OTHER_KEY, KEY_POINTS, expected_revision=1)
    assert newer.revision == 2
    for old in (0, 1, 3):
        with pytest.raises(StaleWrite):
            set_expert_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS, expected_revision=old)
    assert expert_keys_of(scene.store, scene.person, photo.id).mine == newer


def test_an_educator_may_open_the_readings_and_then_gives_none(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    version_id = in_a_set(scene, photo)
    first, second = experts(scene)
    with pytest.raises(NotFound):
        open_expert_keys(scene.store, second, photo.id)
    set_expert_key(scene.store, first, photo.id, KEY, KEY_POINTS, expected_revision=0)
    with pytest.raises(NotAllowed):
        open_expert_keys(scene.store, first, photo.id)
    opened = open_expert_keys(scene.store, second, photo.id)
    assert opened.opened
    assert [one.key for one in opened.all] == [KEY]
    assert open_expert_keys(scene.store, second, photo.id) == opened
    assert expert_keys_in(scene.store, second, version_id) == (opened,)
    with pytest.raises(NotAllowed, match="can no longer add one"):
        set_expert_key(scene.store, second, photo.id, OTHER_KEY, POINTS, expected_revision=0)
    with scene.store.reading() as session:
        lines = [line for line in last_entries(session, 20) if line.action == "open_expert_keys"]
    assert [(line.actor_id, line.object_id, line.outcome) for line in lines if line.outcome == "done"] == [
        (second.id, photo.id, "done")
    ]


def test_a_photo_out_of_reach_takes_no_reading_and_tells_none(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    for other in (*experts(scene), someone_else(scene.store, Role.STUDENT)):
        with pytest.raises(NotAllowed):
            set_expert_key(scene.store, other, photo.id, KEY, KEY_POINTS, expected_revision=0)
        with pytest.raises(NotAllowed):
            expert_keys_of(scene.store, other, photo.id)
        with pytest.raises(NotAllowed):
            key_to_edit(scene.store, other, photo.id)
    with scene.store.reading() as session:
        assert session.execute(text("SELECT count(*) FROM expert_key")).scalar() == 0


def test_the_reference_key_is_written_by_the_owner_and_by_educators_of_its_set_only(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    in_a_set(scene, photo)
    instructor, educator = experts(scene)
    with pytest.raises(NotAllowed):
        write_key(scene.store, instructor, photo.id, KEY, KEY_POINTS, expected_revision=0)
    with pytest.raises(NotAllowed):
        key_to_edit(scene.store, instructor, photo.id)
    written = write_key(scene.store, educator, photo.id, KEY, KEY_POINTS, expected_revision=0)
    assert (written.key, written.landmarks, written.revision, written.writable) == (KEY, KEY_POINTS, 1, True)
    assert key_to_edit(scene.store, scene.person, photo.id) == written


def test_the_key_of_a_shipped_photo_can_be_read_by_an_educator_and_written_by_nobody(scene: Scene) -> None:
    sample = ensure_sample(
        scene.store,
        sample_id="one",
        jpeg=clean_jpeg(),
        screen_jpeg=clean_jpeg(24, 16),
        width=48,
        height=32,
        title="Doll A",
        key=KEY,
        key_landmarks=KEY_POINTS,
    )
    instructor, educator = experts(scene)
    shown = key_to_edit(scene.store, educator, sample.id)
    assert (shown.key, shown.writable, shown.history) == (KEY, False, ())
    with pytest.raises(NotAllowed):
        key_to_edit(scene.store, instructor, sample.id)
    for person in (educator, instructor, scene.person):
        with pytest.raises(NotAllowed):
            write_key(scene.store, person, sample.id, OTHER_KEY, KEY_POINTS, expected_revision=1)
        set_expert_key(scene.store, person, sample.id, OTHER_KEY, KEY_POINTS, expected_revision=0)
    assert key_to_edit(scene.store, educator, sample.id).key == KEY


def test_a_key_remembers_who_changed_which_parts_and_never_what_they_said(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    in_a_set(scene, photo)
    _, educator = experts(scene)
    write_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS, expected_revision=0)
    scene.clock.turn(minutes=20)
    moved = LandmarkSet(points={"mouth_corner": Point(x=9.0, y=8.0, by="reference"), "chin": Point(x=1.0, y=2.0)})
    write_key(scene.store, scene.person, photo.id, KEY, moved, expected_revision=1)
    scene.clock.turn(minutes=1)
    turned = replace(KEY, view=View.OBLIQUE, answers={**KEY.answers, "lips_out": KEY.answers["stays_wide"]})
    last = write_key(scene.store, educator, photo.id, turned, moved, expected_revision=2, how=How.FROM_EXPERTS)
    newest, oldest = last.history
    assert (newest.by, newest.how, newest.parts) == (educator.handle, How.FROM_EXPERTS, ("view", "lips_out"))
    assert (oldest.by, oldest.how) == (scene.person.handle, How.ALONE)
    assert set(oldest.parts) == {"phase", "view", "stays_wide", "mouth_corner", "chin"}
    assert newest.at - oldest.at == timedelta(minutes=1)
    with scene.store.reading() as session:
        kept = str(session.execute(text("SELECT history FROM reference_key")).scalar())
    assert "lips stand far apart" not in kept
    assert "8.0" not in kept


def test_a_later_sitting_is_a_line_of_its_own_and_saving_the_same_again_is_none(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    write_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS, expected_revision=0)
    scene.clock.turn(hours=1)
    same = write_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS, expected_revision=1)
    assert (same.revision, len(same.history)) == (1, 1)
    later = write_key(scene.store, scene.person, photo.id, OTHER_KEY, KEY_POINTS, expected_revision=1)
    assert later.history[0].parts == ("stays_wide",)
    assert len(later.history) == 2


def test_a_stale_key_page_overwrites_nothing(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS)
    with pytest.raises(StaleWrite):
        write_key(scene.store, scene.person, photo.id, OTHER_KEY, KEY_POINTS, expected_revision=0)
    assert key_to_edit(scene.store, scene.person, photo.id).key == KEY


def test_no_key_is_written_for_a_photo_whose_consent_ended(scene: Scene) -> None:
    photo = add(scene.store, scene.person, consent_of(scene.clock, Scope.OWN_PRACTICE))
    in_a_set(scene, photo)
    _, educator = experts(scene)
    for writing in (write_key, set_expert_key):
        with pytest.raises(ConsentMissing):
            writing(scene.store, educator, photo.id, KEY, KEY_POINTS, expected_revision=0)
        writing(scene.store, scene.person, photo.id, KEY, KEY_POINTS, expected_revision=0)
    withdraw(scene.store, scene.person, photo.consent_id)
    for writing in (write_key, set_expert_key):
        with pytest.raises(ConsentWithdrawn):
            writing(scene.store, scene.person, photo.id, OTHER_KEY, KEY_POINTS, expected_revision=1)


def test_proposed_points_are_kept_beside_the_key_and_never_in_it(scene: Scene) -> None:
    first, second = add(scene.store, scene.person, shade=10), add(scene.store, scene.person, shade=20)
    scene.clock.turn(minutes=1)
    assert set(photos_to_read(scene.store, scene.person)) == {first.id, second.id}
    keep_proposed_points(scene.store, scene.person, first.id, POINTS)
    keep_proposed_points(scene.store, scene.person, second.id, LandmarkSet())
    assert photos_to_read(scene.store, scene.person) == ()
    found = proposed_points(scene.store, scene.person, first.id)
    assert (found.landmarks, found.at) == (POINTS, scene.clock())
    assert proposed_points(scene.store, scene.person, second.id).landmarks == LandmarkSet()
    assert key_to_edit(scene.store, scene.person, first.id).landmarks is None
    other = someone_else(scene.store, Role.EDUCATOR)
    with pytest.raises(NotAllowed):
        keep_proposed_points(scene.store, other, first.id, LandmarkSet())
    with pytest.raises(NotAllowed):
        proposed_points(scene.store, other, first.id)
    assert photos_to_read(scene.store, other) == ()


def test_the_hash_of_a_photos_look_is_the_owners_and_goes_with_the_photo(scene: Scene) -> None:
    photo = add(scene.store, scene.person, consent_of(scene.clock))
    keep_look_hash(scene.store, scene.person, photo.id, "way:abc")
    assert look_hashes(scene.store, scene.person) == {photo.id: "way:abc"}
    assert look_hashes(scene.store, someone_else(scene.store)) == {}
    for fault in ("", "é", "x" * 401):
        with pytest.raises(ValueError, match="plain characters"):
            keep_look_hash(scene.store, scene.person, photo.id, fault)
    withdraw(scene.store, scene.person, photo.consent_id)
    assert look_hashes(scene.store, scene.person) == {}
