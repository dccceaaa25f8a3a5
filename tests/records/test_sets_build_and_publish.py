"""A teaching set is built as a draft, frozen by publishing, copied into a new draft, and never breaks when a photo goes."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from records_scene import KEY, KEY_POINTS, Scene, add, clean_jpeg, consent_of, is_one_sentence, someone_else
from sqlalchemy import text

from records import teaching_sets as sets
from records.auditing.audit import last_entries
from records.consent.consents import Scope
from records.consent.withdrawal import withdraw
from records.errors import InvalidRecord, NotAllowed, NotFound, NotReady, RecordsError, StaleWrite
from records.identity.people import Role
from records.key.keys import set_key
from records.models import VersionRow
from records.photo.photos import PhotoRecord, list_photos
from records.photo.samples import ensure_sample
from records.teaching_sets import SetRecord, State, VersionRecord
from rubric.answers import Answer, KeyAnswer
from vision.landmarks import LandmarkSet, Point

CHECKLIST = "3"


def keyed(scene: Scene, shade: int, *scopes: Scope) -> PhotoRecord:
    """A photo of the scene's person with a key; a doll unless scopes are named."""
    consent = consent_of(scene.clock, *scopes) if scopes else None
    photo = add(scene.store, scene.person, **({"consent": consent} if consent else {}), shade=shade, title=f"S {shade}")
    set_key(scene.store, scene.person, photo.id, KEY, KEY_POINTS)
    return photo


def draft_of(scene: Scene, *photos: PhotoRecord, title: str = "First looks") -> VersionRecord:
    begun = sets.new_set(scene.store, scene.person, title)
    assert begun.draft is not None
    return sets.add_photos(
        scene.store, scene.person, begun.draft.id, [photo.id for photo in photos], expected_revision=1
    )


def published(scene: Scene, draft: VersionRecord) -> VersionRecord:
    return sets.publish(
        scene.store, scene.person, draft.id, expected_revision=draft.revision, checklist_version=CHECKLIST
    )


def test_a_new_set_begins_with_an_empty_draft(scene: Scene) -> None:
    begun = sets.new_set(scene.store, scene.person, "  First looks ")
    assert (begun.title, begun.mine) == ("First looks", True)
    assert [line.state for line in begun.versions] == [State.DRAFT]
    assert begun.draft is not None
    version = sets.get_version(scene.store, scene.person, begun.draft.id)
    assert (version.number, version.state, version.photos, version.revision) == (1, State.DRAFT, (), 1)


def test_photos_keep_the_order_in_which_they_came_and_come_in_once(scene: Scene) -> None:
    first, second = keyed(scene, 10), keyed(scene, 20)
    draft = draft_of(scene, second, first, second)
    assert [photo.photo_id for photo in draft.photos] == [second.id, first.id]
    again = sets.add_photos(scene.store, scene.person, draft.id, [first.id], expected_revision=draft.revision)
    assert [photo.position for photo in again.photos] == [1, 2]


def test_order_difficulty_and_notes_are_kept(scene: Scene) -> None:
    photos = [keyed(scene, shade) for shade in (10, 20, 30)]
    draft = draft_of(scene, *photos)
    turned = [photos[2].id, photos[0].id, photos[1].id]
    draft = sets.reorder(scene.store, scene.person, draft.id, turned, expected_revision=draft.revision)
    draft = sets.set_difficulty(scene.store, scene.person, draft.id, photos[0].id, 3, expected_revision=draft.revision)
    draft = sets.set_note(
        scene.store, scene.person, draft.id, photos[0].id, " twist\nmissed ", expected_revision=draft.revision
    )
    draft = sets.set_notes(scene.store, scene.person, draft.id, "for week 2", expected_revision=draft.revision)
    read = sets.get_version(scene.store, scene.person, draft.id)
    assert read == draft
    assert [photo.photo_id for photo in read.photos] == turned
    assert (read.photos[1].difficulty, read.photos[1].note, read.notes) == (3, "twist\nmissed", "for week 2")
    left = sets.remove_photo(scene.store, scene.person, draft.id, turned[0], expected_revision=draft.revision)
    assert [(photo.photo_id, photo.position) for photo in left.photos] == [(turned[1], 1), (turned[2], 2)]
    assert len(list_photos(scene.store, scene.person)) == 3


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=st.permutations(range(4)))
def test_any_order_is_kept(scene: Scene, order: list[int]) -> None:
    photos = list_photos(scene.store, scene.person) or tuple(keyed(scene, shade) for shade in (10, 20, 30, 40))
    draft = draft_of(scene, *photos)
    asked = [photos[at].id for at in order]
    turned = sets.reorder(scene.store, scene.person, draft.id, asked, expected_revision=draft.revision)
    assert [photo.photo_id for photo in turned.photos] == asked


def test_an_order_that_leaves_a_photo_out_is_refused(scene: Scene) -> None:
    photos = [keyed(scene, shade) for shade in (10, 20)]
    draft = draft_of(scene, *photos)
    with pytest.raises(InvalidRecord, match="each of the 2 photos once, got 1"):
        sets.reorder(scene.store, scene.person, draft.id, [photos[0].id], expected_revision=draft.revision)


def test_a_change_from_an_old_page_overwrites_nothing(scene: Scene) -> None:
    draft = draft_of(scene, keyed(scene, 10))
    newer = sets.set_notes(scene.store, scene.person, draft.id, "kept", expected_revision=draft.revision)
    with pytest.raises(StaleWrite):
        sets.set_notes(scene.store, scene.person, draft.id, "late", expected_revision=draft.revision)
    assert sets.get_version(scene.store, scene.person, draft.id) == newer


def test_another_educator_may_go_on_with_a_draft_but_not_put_a_private_photo_of_others_in(scene: Scene) -> None:
    mine, private = keyed(scene, 10), keyed(scene, 20)
    draft = draft_of(scene, mine)
    other = someone_else(scene.store, Role.EDUCATOR)
    changed = sets.set_notes(scene.store, other, draft.id, "seen by two", expected_revision=draft.revision)
    with pytest.raises(NotAllowed):
        sets.add_photos(scene.store, other, draft.id, [private.id], expected_revision=changed.revision)
    assert sets.get_version(scene.store, scene.person, draft.id) == changed
    [listed] = sets.list_sets(scene.store, other)
    assert not listed.mine


@pytest.mark.parametrize("role", [Role.INSTRUCTOR, Role.STUDENT])
def test_whoever_does_not_build_sets_sees_no_draft(scene: Scene, role: Role) -> None:
    draft = draft_of(scene, keyed(scene, 10))
    other = someone_else(scene.store, role)
    for asked in (sets.list_sets, sets.published_versions):
        if asked is sets.published_versions and role == Role.INSTRUCTOR:
            assert asked(scene.store, other) == ()
        else:
            with pytest.raises(NotAllowed):
                asked(scene.store, other)
    for reading in (sets.get_version, sets.published_version, sets.frozen_keys):
        with pytest.raises(NotAllowed):
            reading(scene.store, other, draft.id)


def test_publishing_freezes_the_keys_whatever_becomes_of_them_later(scene: Scene) -> None:
    photo = keyed(scene, 10)
    version = published(scene, draft_of(scene, photo))
    later = replace(KEY, answers={"lips_out": KeyAnswer(answer=Answer.NOT_SEEN, why="another view of it")})
    set_key(scene.store, scene.person, photo.id, later, LandmarkSet(points={"chin": Point(x=1, y=2)}))
    frozen = sets.frozen_keys(scene.store, scene.person, version.id)[photo.id]
    assert (frozen.key, frozen.landmarks) == (KEY, KEY_POINTS)
    assert sets.seal_holds(scene.store, scene.person, version.id) is True
    assert sets.published_versions(scene.store, scene.person) == (version,)
    with scene.store.reading() as session:
        [line] = last_entries(session, 1)
    assert (line.action, line.object_id, line.actor_id) == ("publish", version.id, scene.person.id)


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE set_photo SET difficulty = 3",
        "UPDATE set_photo SET note = 'other'",
        "UPDATE set_version SET notes = 'other'",
        "UPDATE set_version SET checklist_version = '4'",
        "UPDATE set_photo SET landmarks = '{\"landmarks\": {}}'",
        "UPDATE set_photo SET position = 3 - position",
        "UPDATE photo SET sha256 = screen_sha256",
    ],
)
def test_the_seal_breaks_when_anything_that_was_frozen_changes(scene: Scene, change: str) -> None:
    version = published(scene, draft_of(scene, keyed(scene, 10), keyed(scene, 20)))
    with scene.store.writing() as session:
        session.execute(text(change))
    assert sets.seal_holds(scene.store, scene.person, version.id) is False


def test_the_seal_is_the_same_for_the_same_set_and_says_nothing_of_titles(scene: Scene) -> None:
    photo = keyed(scene, 10)
    one, two = published(scene, draft_of(scene, photo)), published(scene, draft_of(scene, photo, title="Another"))
    assert one.seal == two.seal
    assert sets.rename_set(scene.store, scene.person, one.set_id, "Renamed").title == "Renamed"
    assert sets.seal_holds(scene.store, scene.person, one.id) is True


def changes_of(scene: Scene, version: VersionRecord, photo: PhotoRecord) -> list[object]:
    at = {"expected_revision": version.revision}
    store, person = scene.store, scene.person
    return [
        lambda: sets.add_photos(store, person, version.id, [photo.id], **at),
        lambda: sets.remove_photo(store, person, version.id, photo.id, **at),
        lambda: sets.reorder(store, person, version.id, [photo.id], **at),
        lambda: sets.set_difficulty(store, person, version.id, photo.id, 1, **at),
        lambda: sets.set_note(store, person, version.id, photo.id, "x", **at),
        lambda: sets.set_notes(store, person, version.id, "x", **at),
        lambda: sets.discard_draft(store, person, version.id, **at),
        lambda: sets.publish(store, person, version.id, checklist_version="9", **at),
    ]


def test_a_published_version_takes_no_change_at_all(scene: Scene) -> None:
    photo = keyed(scene, 10)
    version = published(scene, draft_of(scene, photo))
    for state in ("published", "retired"):
        for change in changes_of(scene, version, photo):
            with pytest.raises(InvalidRecord, match="no longer changes") as refused:
                change()
            assert is_one_sentence(refused.value)
        version = sets.retire(scene.store, scene.person, version.id) if state == "published" else version
    assert version.state == State.RETIRED


def test_all_that_stands_against_publishing_is_told_at_once(scene: Scene) -> None:
    fine = keyed(scene, 10, Scope.TEACHING_SETS, Scope.OWN_PRACTICE)
    no_key = add(scene.store, scene.person, shade=20, title="Bare")
    only_own = keyed(scene, 30, Scope.OWN_PRACTICE)
    uncovered = add(
        scene.store,
        scene.person,
        replace(consent_of(scene.clock, Scope.TEACHING_SETS, Scope.OWN_PRACTICE), faces_covered=False),
        shade=40,
        title="Open",
    )
    draft = draft_of(scene, fine, no_key, only_own, uncovered)
    told = sets.hindrances(scene.store, scene.person, draft.id)
    assert told == (
        "Photo 2, Bare: it has no reference key.",
        "Photo 3, S 30: the consent on record does not cover teaching sets.",
        "Photo 4, Open: it has no reference key.",
        "Photo 4, Open: its consent record does not say that the faces are covered which must not be shown.",
    )
    with pytest.raises(NotReady, match="4 things stand against it") as refused:
        published(scene, draft)
    assert refused.value.faults == told
    assert sets.get_version(scene.store, scene.person, draft.id) == draft


def test_an_empty_set_and_a_key_that_answers_nothing_cannot_be_published(scene: Scene) -> None:
    begun = sets.new_set(scene.store, scene.person, "Empty")
    assert begun.draft is not None
    assert sets.hindrances(scene.store, scene.person, begun.draft.id) == ("There is no photo in the set.",)
    photo = add(scene.store, scene.person, shade=10)
    set_key(scene.store, scene.person, photo.id, replace(KEY, answers={}), KEY_POINTS)
    draft = draft_of(scene, photo)
    assert sets.hindrances(scene.store, scene.person, draft.id) == (
        "Photo 1, Cradle: its reference key answers no sign.",
    )


def test_points_that_a_detector_proposed_hinder_publishing_until_somebody_confirms_them(scene: Scene) -> None:
    photo = add(scene.store, scene.person, shade=10)
    proposed = KEY_POINTS.with_points({"chin": Point(x=1, y=2, by="profile_net"), "ear": Point(x=3, y=4)})
    set_key(scene.store, scene.person, photo.id, KEY, proposed)
    draft = draft_of(scene, photo)
    assert sets.hindrances(scene.store, scene.person, draft.id) == (
        "Photo 1, Cradle: 1 point of its key is proposed and not yet confirmed.",
    )
    set_key(scene.store, scene.person, photo.id, KEY, proposed.with_points({"chin": Point(x=1, y=2, by="reference")}))
    assert sets.hindrances(scene.store, scene.person, draft.id) == ()


def test_a_consent_that_ended_hinders_publishing_and_is_said_of_a_published_set(scene: Scene) -> None:
    photo = keyed(scene, 10, Scope.TEACHING_SETS, Scope.OWN_PRACTICE)
    version = published(scene, draft_of(scene, photo))
    assert version.photos[0].refusal is None
    scene.clock.turn(days=31)
    [place] = sets.get_version(scene.store, scene.person, version.id).photos
    assert place.refusal is not None
    assert "ended on" in place.refusal
    [fault] = sets.hindrances(scene.store, scene.person, draft_of(scene, photo).id)
    assert "the consent for this photo ended on" in fault


def test_a_photo_for_one_class_may_be_in_a_set_that_only_that_class_is_given(scene: Scene) -> None:
    photo = keyed(scene, 10, Scope.OWN_CLASS, Scope.OWN_PRACTICE)
    version = published(scene, draft_of(scene, photo))
    assert version.photos[0].own_class_only
    with scene.store.writing() as session:
        for class_id in ("c" * 32, "d" * 32):
            session.execute(
                text(
                    "INSERT INTO class_group (id, title, made_by, made_at, keep_until)"
                    " VALUES (:id, 'Linden Room', :me, '2030-01-01 00:00:00', '2031-01-01')"
                ),
                {"id": class_id, "me": scene.person.id},
            )
        session.execute(text("UPDATE consent SET class_id = :id"), {"id": "c" * 32})
    with scene.store.reading() as session:
        row = session.get_one(VersionRow, version.id)
        assert sets.hindrances_to_giving(scene.store, row, "c" * 32) == ()
        assert sets.hindrances_to_giving(scene.store, row, "d" * 32) == (
            "Photo 1, S 10: the consent on record covers another class, not this one.",
        )


def test_a_new_draft_copies_the_last_version_and_there_is_one_at_a_time(scene: Scene) -> None:
    first, second = keyed(scene, 10), keyed(scene, 20)
    draft = draft_of(scene, first, second)
    draft = sets.set_note(scene.store, scene.person, draft.id, second.id, "hard one", expected_revision=draft.revision)
    version = published(scene, draft)
    copied = sets.new_draft(scene.store, scene.person, version.set_id)
    assert (copied.number, copied.state, copied.seal) == (2, State.DRAFT, None)
    assert [replace(photo) for photo in copied.photos] == list(version.photos)
    assert sets.new_draft(scene.store, scene.person, version.set_id).id == copied.id
    sets.discard_draft(scene.store, scene.person, copied.id, expected_revision=copied.revision)
    [left] = sets.list_sets(scene.store, scene.person)
    assert [line.number for line in left.versions] == [1]


def test_throwing_away_the_only_draft_throws_the_set_away_and_no_photo(scene: Scene) -> None:
    draft = draft_of(scene, keyed(scene, 10))
    sets.discard_draft(scene.store, scene.person, draft.id, expected_revision=draft.revision)
    assert sets.list_sets(scene.store, scene.person) == ()
    with pytest.raises(NotFound):
        sets.get_version(scene.store, scene.person, draft.id)
    assert len(list_photos(scene.store, scene.person)) == 1


def test_a_retired_version_is_offered_no_more_and_a_draft_cannot_be_retired(scene: Scene) -> None:
    draft = draft_of(scene, keyed(scene, 10))
    with pytest.raises(InvalidRecord):
        sets.retire(scene.store, scene.person, draft.id)
    version = published(scene, draft)
    gone = sets.retire(scene.store, scene.person, version.id)
    assert (gone.state, gone.retired_at) == (State.RETIRED, scene.clock())
    assert sets.retire(scene.store, scene.person, version.id) == gone
    assert sets.published_versions(scene.store, scene.person) == ()
    assert sets.published_version(scene.store, scene.person, version.id) == gone


def test_a_published_set_keeps_a_mark_where_a_photo_was_withdrawn(scene: Scene) -> None:
    stays = keyed(scene, 10)
    goes = keyed(scene, 20, Scope.TEACHING_SETS, Scope.OWN_PRACTICE)
    draft = draft_of(scene, goes, stays)
    draft = sets.set_note(scene.store, scene.person, draft.id, goes.id, "a note", expected_revision=draft.revision)
    version = published(scene, draft)
    second = sets.new_draft(scene.store, scene.person, version.set_id)
    withdraw(scene.store, scene.person, goes.consent_id)

    after = sets.get_version(scene.store, scene.person, version.id)
    assert [(photo.photo_id, photo.removed) for photo in after.photos] == [(None, True), (stays.id, False)]
    assert (after.photos[0].title, after.photos[0].note, after.n_photos) == (None, "", 1)
    assert sets.seal_holds(scene.store, scene.person, version.id) is None
    assert set(sets.frozen_keys(scene.store, scene.person, version.id)) == {stays.id}
    assert sets.published_versions(scene.store, scene.person) == (after,)

    again = sets.get_version(scene.store, scene.person, second.id)
    turned = sets.reorder(scene.store, scene.person, second.id, [stays.id], expected_revision=again.revision)
    newer = published(scene, turned)
    assert [photo.photo_id for photo in newer.photos] == [stays.id]
    assert sets.new_draft(scene.store, scene.person, version.set_id).n_photos == 1


def test_shipped_samples_can_be_in_a_set(scene: Scene) -> None:
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
    version = published(scene, draft_of(scene, sample))
    assert version.photos[0].has_key
    assert sets.seal_holds(scene.store, scene.person, version.id) is True


@pytest.mark.parametrize("asked", [sets.retire, sets.get_version, sets.published_version, sets.seal_holds])
def test_a_version_that_is_not_there_is_said_so(scene: Scene, asked: object) -> None:
    with pytest.raises(NotFound) as refused:
        asked(scene.store, scene.person, "0" * 32)
    assert is_one_sentence(refused.value)


@pytest.mark.parametrize("note", ["x" * 2001, "tab\tinside", "bell\a"])
def test_a_note_that_is_too_long_or_no_plain_text_is_refused(scene: Scene, note: str) -> None:
    photo = keyed(scene, 10)
    draft = draft_of(scene, photo)
    with pytest.raises(RecordsError):
        sets.set_note(scene.store, scene.person, draft.id, photo.id, note, expected_revision=draft.revision)


def test_two_sets_are_listed_newest_first_with_their_versions(scene: Scene) -> None:
    photo = keyed(scene, 10)
    version = published(scene, draft_of(scene, photo))
    scene.clock.turn(seconds=timedelta(minutes=1).total_seconds())
    second = sets.new_set(scene.store, scene.person, "Second")
    listed: tuple[SetRecord, ...] = sets.list_sets(scene.store, scene.person)
    assert [found.title for found in listed] == ["Second", "First looks"]
    assert listed[0] == second
    [line] = listed[1].versions
    assert (line.id, line.state, line.n_photos, listed[1].draft) == (version.id, State.PUBLISHED, 1, None)
