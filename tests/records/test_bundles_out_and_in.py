"""A set that goes out as a bundle and in at another data folder is the same there, byte for byte in photos and keys."""

import hashlib
import json
import os
import signal
import sqlite3
import subprocess
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from bundle_scene import Parts, a_published_set, received, screen_copy, sent, sqlite_scene_in, state_of
from nursery import Reaper, ReapingDisk
from records_scene import KEY, Clock, Scene, add, consents_on_record, is_one_sentence, someone_else
from sqlalchemy import event, select, text

from records import teaching_sets as sets
from records.auditing.audit import last_entries
from records.bundles import bundles_of, make_bundle, take_in, travelling, write_out
from records.consent.consents import Kind, Scope
from records.consent.withdrawal import withdraw
from records.errors import BundleRefused, InvalidRecord, NotAllowed, NotFound, StorageFault
from records.identity.people import Role, local_person
from records.key.keys import set_key
from records.key.reference_keys import key_to_edit
from records.models import PhotoRow
from records.photo.photos import get_photo, read_bytes
from records.storage.disk import LocalDisk
from records.store import Store
from records.teaching_sets import State, VersionRecord
from records.teaching_sets.seal import canonical
from rubric.answers import Answer, KeyAnswer, Spot
from vision.landmarks import LandmarkSet, Point


@pytest.fixture
def origin(tmp_path: Path) -> Iterator[Scene]:
    """Where the set comes from."""
    made = sqlite_scene_in(tmp_path / "origin")
    yield made
    made.store.close()


def pictures(scene: Scene, version: VersionRecord) -> list[bytes]:
    return [
        read_bytes(scene.store, scene.person, photo.photo_id, "full", use=Scope.TEACHING_SETS)
        for photo in version.photos
        if photo.photo_id
    ]


def frozen(scene: Scene, version: VersionRecord) -> list[bytes]:
    """Answers and points of a version as they are stored, in order."""
    with scene.store.reading() as session:
        rows = session.execute(
            text("SELECT answers, landmarks FROM set_photo WHERE version_id = :id ORDER BY position"),
            {"id": version.id},
        ).all()
        return [canonical([as_json(part) for part in row]) for row in rows]


def as_json(value: object) -> object:
    """SQLite hands JSON out as text where no type is named."""
    return json.loads(value) if isinstance(value, str) else value


def only_travelling(scene: Scene) -> VersionRecord:
    """The scene's set, without the photo whose consent keeps it here."""
    version = a_published_set(scene)
    stays = version.photos[2].photo_id
    draft = sets.new_draft(scene.store, scene.person, version.set_id)
    assert stays is not None
    draft = sets.remove_photo(scene.store, scene.person, draft.id, stays, expected_revision=draft.revision)
    return sets.publish(
        scene.store, scene.person, draft.id, expected_revision=draft.revision, checklist_version="2026-11"
    )


def test_a_set_is_the_same_on_another_data_folder_byte_for_byte_in_photos_and_keys(origin: Scene, scene: Scene) -> None:
    here = only_travelling(origin)
    there = received(scene, sent(origin, here.id))
    assert pictures(scene, there) == pictures(origin, here)
    assert frozen(scene, there) == frozen(origin, here)
    assert there.seal == here.seal
    assert sets.seal_holds(scene.store, scene.person, there.id) is True
    assert (there.title, there.notes, there.state, there.checklist_version) == (
        here.title,
        here.notes,
        State.PUBLISHED,
        here.checklist_version,
    )
    for mine, theirs in zip(there.photos, here.photos, strict=True):
        assert mine.photo_id is not None
        assert replace(mine, photo_id=theirs.photo_id) == theirs
        assert key_to_edit(scene.store, scene.person, mine.photo_id).key is not None


def test_whole_numbers_among_the_points_are_the_same_there_too(origin: Scene, scene: Scene) -> None:
    """JSON tells 300 from 300.0, and a seal over text would."""
    photo = add(origin.store, origin.person, shade=10)
    whole = LandmarkSet(points={"ear": Point(x=300, y=100, sigma=2, by="reference")})
    spotted = replace(KEY, answers={"close": KeyAnswer(answer=Answer.SEEN, why="", spot=Spot(x=1, y=0))})
    set_key(origin.store, origin.person, photo.id, spotted, whole)
    begun = sets.new_set(origin.store, origin.person, "Whole").draft
    assert begun is not None
    draft = sets.add_photos(origin.store, origin.person, begun.id, [photo.id], expected_revision=1)
    here = sets.publish(origin.store, origin.person, draft.id, expected_revision=draft.revision, checklist_version="1")
    there = received(scene, sent(origin, here.id))
    assert there.seal == here.seal
    assert frozen(scene, there) == frozen(origin, here)


def test_an_imported_set_can_be_taken_further_and_exported_again_to_the_same_photos(
    origin: Scene, scene: Scene, tmp_path: Path
) -> None:
    here = only_travelling(origin)
    first = sent(origin, here.id)
    there = received(scene, first)
    again = sent(scene, there.id)
    third = sqlite_scene_in(tmp_path / "third")
    try:
        last = received(third, again)
        assert pictures(third, last) == pictures(origin, here)
        with third.store.reading() as session:
            origins = set(session.scalars(select(PhotoRow.origin_id).where(PhotoRow.origin_id.is_not(None))))
        assert origins == {photo.photo_id for photo in here.photos}
    finally:
        third.store.close()
    draft = sets.new_draft(scene.store, scene.person, there.set_id)
    assert sets.hindrances(scene.store, scene.person, draft.id) == ()


def test_the_same_set_gives_the_same_bytes_whenever_and_for_whomever_it_is_made(origin: Scene) -> None:
    version = a_published_set(origin)
    first = sent(origin, version.id)
    origin.clock.turn(days=3)
    assert sent(origin, version.id, "somebody else") == first
    with zipfile.ZipFile(BytesIO(first)) as whole:
        assert {info.date_time for info in whole.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert {info.compress_type for info in whole.infolist()} == {zipfile.ZIP_STORED}
    assert b"somebody else" not in first


def test_the_list_of_hashes_is_one_that_sha256sum_reads(origin: Scene, tmp_path: Path) -> None:
    with zipfile.ZipFile(BytesIO(sent(origin, a_published_set(origin).id))) as whole:
        whole.extractall(tmp_path / "out")
    done = subprocess.run(["sha256sum", "-c", "SHA256SUMS"], cwd=tmp_path / "out", capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(b": OK") == 7


def test_photos_whose_consent_does_not_let_them_travel_stay_here_and_are_listed(origin: Scene, scene: Scene) -> None:
    version = a_published_set(origin)
    told = travelling(origin.store, origin.person, version.id)
    assert told.n_photos == 3
    [left] = told.left_out
    assert (left.position, left.why) == (3, "The consent on record does not cover printed or exported material.")
    bundle = sent(origin, version.id)
    stays = version.photos[2].photo_id
    assert stays is not None
    assert read_bytes(origin.store, origin.person, stays) not in bundle
    assert stays.encode() not in bundle
    assert b"pair 4" not in bundle.lower()
    taken = take_in(scene.store, scene.person, BytesIO(bundle), screen_copy=screen_copy)
    assert taken.left_out == told.left_out
    assert [photo.title for photo in taken.version.photos] == ["Doll A, cradle", "Pair 3, side", "Doll B, laid-back"]
    assert taken.version.seal != version.seal
    assert sets.seal_holds(scene.store, scene.person, taken.version.id) is True


def test_the_consent_travels_with_its_labels_and_only_the_uses_that_may_travel(origin: Scene, scene: Scene) -> None:
    received(scene, sent(origin, a_published_set(origin).id))
    kinds = consents_on_record(scene.store, scene.person)
    [person] = [consent for consent in kinds if consent.kind == Kind.PERSON]
    [at_home] = [consent for consent in consents_on_record(origin.store, origin.person) if consent.shown == "pair 3"]
    assert person.scopes == {Scope.TEACHING_SETS, Scope.PRINTED}
    assert replace(person, id=at_home.id, scopes=at_home.scopes) == at_home
    # Two photos of two dolls rest on two declarations.
    assert len([consent for consent in kinds if consent.kind == Kind.DOLL]) == 2


def test_photos_on_one_consent_rest_on_one_consent_there_too(origin: Scene, scene: Scene) -> None:
    version = a_published_set(origin)
    with origin.store.writing() as session:
        kept = version.photos[1].photo_id
        session.execute(
            text("UPDATE photo SET consent_id = (SELECT consent_id FROM photo WHERE id = :id)"), {"id": kept}
        )
    there = received(scene, sent(origin, version.id))
    [consent] = consents_on_record(scene.store, scene.person)
    withdraw(scene.store, scene.person, consent.id)
    after = sets.get_version(scene.store, scene.person, there.id)
    assert [photo.removed for photo in after.photos] == [True] * 4


def test_to_whom_a_bundle_went_is_on_record_with_its_photos_before_any_byte_leaves(origin: Scene) -> None:
    version = a_published_set(origin)
    made = make_bundle(origin.store, origin.person, version.id, to_whom="  Linden Room ")
    assert (made.to_whom, made.n_photos, made.at) == ("Linden Room", 3, origin.clock())
    assert bundles_of(origin.store, origin.person, version.id) == (made,)
    with origin.store.reading() as session:
        held = session.execute(text("SELECT photo_ids FROM bundle")).scalar()
        [line] = last_entries(session, 1)
    assert version.photos[0].photo_id in str(held)
    assert version.photos[2].photo_id not in str(held)
    assert (line.action, line.object_id) == ("make_bundle", made.id)
    stream = BytesIO()
    write_out(origin.store, origin.person, made.id, stream)
    assert hashlib.sha256(stream.getvalue()).hexdigest() == made.sha256
    with origin.store.reading() as session:
        [line] = last_entries(session, 1)
    assert (line.action, line.object_id) == ("write_out", made.id)
    with pytest.raises(InvalidRecord, match="to whom"):
        make_bundle(origin.store, origin.person, version.id, to_whom=" ")


def test_a_bundle_made_before_a_withdrawal_gives_nothing_afterwards_and_a_new_one_lacks_the_photo(
    origin: Scene,
) -> None:
    version = a_published_set(origin)
    made = make_bundle(origin.store, origin.person, version.id, to_whom="Linden Room")
    gone = version.photos[1].photo_id
    assert gone is not None
    jpeg = read_bytes(origin.store, origin.person, gone)
    done = withdraw(origin.store, origin.person, get_photo(origin.store, origin.person, gone).consent_id)
    assert [(left.bundle_id, left.to_whom, left.n_photos) for left in done.left] == [(made.id, "Linden Room", 1)]
    stream = BytesIO()
    with pytest.raises(InvalidRecord, match="make a new one"):
        write_out(origin.store, origin.person, made.id, stream)
    assert stream.getvalue() == b""
    newer = sent(origin, version.id)
    assert jpeg not in newer
    assert b"It was removed." in newer


def test_a_draft_or_a_set_of_which_nothing_may_travel_is_not_exported(origin: Scene) -> None:
    version = a_published_set(origin)
    draft = sets.new_draft(origin.store, origin.person, version.set_id)
    for asked in (travelling, bundles_of):
        if asked is travelling:
            with pytest.raises(InvalidRecord, match="published"):
                asked(origin.store, origin.person, draft.id)
    with pytest.raises(InvalidRecord, match="published"):
        make_bundle(origin.store, origin.person, draft.id, to_whom="x")
    with origin.store.writing() as session:
        session.execute(text("UPDATE consent SET scopes = '[\"teaching_sets\"]'"))
    with pytest.raises(InvalidRecord, match="nothing to export"):
        make_bundle(origin.store, origin.person, version.id, to_whom="x")
    with pytest.raises(NotFound):
        write_out(origin.store, origin.person, "0" * 32, BytesIO())


def test_a_set_that_nobody_could_take_in_is_not_exported(origin: Scene, monkeypatch: pytest.MonkeyPatch) -> None:
    version = a_published_set(origin)
    monkeypatch.setattr("records.bundles.opening.MAX_BUNDLE_BYTES", 2000)
    with pytest.raises(InvalidRecord, match=r"No other school could take this set in.*larger than"):
        make_bundle(origin.store, origin.person, version.id, to_whom="Linden Room")
    assert bundles_of(origin.store, origin.person, version.id) == ()


@pytest.mark.parametrize("role", [Role.INSTRUCTOR, Role.STUDENT])
def test_whoever_does_not_share_sets_neither_exports_nor_imports(origin: Scene, role: Role) -> None:
    version = a_published_set(origin)
    bundle = sent(origin, version.id)
    made = bundles_of(origin.store, origin.person, version.id)[0]
    other = someone_else(origin.store, role)
    for asked in (
        lambda: travelling(origin.store, other, version.id),
        lambda: bundles_of(origin.store, other, version.id),
        lambda: make_bundle(origin.store, other, version.id, to_whom="x"),
        lambda: write_out(origin.store, other, made.id, BytesIO()),
        lambda: take_in(origin.store, other, BytesIO(bundle), screen_copy=screen_copy),
    ):
        with pytest.raises(NotAllowed):
            asked()


def test_the_same_set_is_not_taken_in_twice(origin: Scene, scene: Scene) -> None:
    bundle = sent(origin, a_published_set(origin).id)
    received(scene, bundle)
    before = state_of(scene)
    with pytest.raises(BundleRefused, match="is here already, as “First looks”, version 1"):
        received(scene, bundle)
    assert state_of(scene) == before


def test_a_photo_that_was_withdrawn_here_does_not_come_back_in_a_bundle(origin: Scene, scene: Scene) -> None:
    version = a_published_set(origin)
    there = received(scene, sent(origin, version.id))
    [person] = [consent for consent in consents_on_record(scene.store, scene.person) if consent.kind == Kind.PERSON]
    withdraw(scene.store, scene.person, person.id)
    assert sets.get_version(scene.store, scene.person, there.id).photos[1].removed
    draft = sets.new_draft(origin.store, origin.person, version.set_id)
    draft = sets.set_notes(origin.store, origin.person, draft.id, "second try", expected_revision=draft.revision)
    newer = sets.publish(
        origin.store, origin.person, draft.id, expected_revision=draft.revision, checklist_version="2026-11"
    )
    before = state_of(scene)
    with pytest.raises(BundleRefused, match="withdrawn here") as refused:
        received(scene, sent(origin, newer.id))
    assert is_one_sentence(refused.value)
    assert state_of(scene) == before


def test_a_bundle_whose_consent_has_not_begun_or_ended_meanwhile_is_refused(origin: Scene, scene: Scene) -> None:
    origin.clock.turn(days=9)
    bundle = sent(origin, a_published_set(origin).id)
    before = state_of(scene)
    with pytest.raises(BundleRefused, match=r"photos/002\.jpg starts on"):
        received(scene, bundle)
    scene.clock.turn(days=40)
    with pytest.raises(BundleRefused, match=r"photos/002\.jpg ended on .*ask for a newer bundle"):
        received(scene, bundle)
    assert state_of(scene) == before


class FullDisk(LocalDisk):
    """A disk on which only so many files find room."""

    def __init__(self, room: int) -> None:
        self.room = room

    def create(self, path: Path) -> int:
        if self.room == 0:
            raise OSError(28, "No space left on device")
        self.room -= 1
        return super().create(path)


def test_a_disk_that_fills_up_half_way_leaves_nothing_behind(origin: Scene, tmp_path: Path) -> None:
    bundle = sent(origin, a_published_set(origin).id)
    folder = tmp_path / "full"
    folder.mkdir()
    store = Store.open(folder, f"sqlite:///{folder / 'records.sqlite3'}", now=origin.clock, disk=FullDisk(3))
    scene = Scene(store=store, person=local_person(store), clock=origin.clock, folder=folder)
    before = state_of(scene)
    with pytest.raises(StorageFault):
        received(scene, bundle)
    assert state_of(scene) == before
    store.close()


class WatchedDisk(LocalDisk):
    """A disk that does something before each file is made in the photo folder."""

    def __init__(self, watch: Callable[[], None]) -> None:
        self.watch: Callable[[], None] | None = watch

    def create(self, path: Path) -> int:
        if self.watch is not None and path.parent.name == "photos":
            self.watch()
        return super().create(path)


def watched(folder: Path, now: Clock, watch: Callable[[], None]) -> Scene:
    folder.mkdir()
    store = Store.open(folder, f"sqlite:///{folder / 'records.sqlite3'}", now=now, disk=WatchedDisk(watch))
    return Scene(store=store, person=local_person(store), clock=now, folder=folder)


@pytest.mark.skipif(
    not hasattr(os, "fork"), reason="Windows has no lock on folders, there it takes the lock for longer"
)
def test_others_may_write_while_the_photos_of_a_bundle_are_stored(origin: Scene, tmp_path: Path) -> None:
    bundle = sent(origin, a_published_set(origin).id)
    seen = []

    def another_writes() -> None:
        with closing(sqlite3.connect(tmp_path / "in" / "records.sqlite3", timeout=0)) as other:
            other.execute("BEGIN IMMEDIATE")
            other.rollback()
            seen.append(True)

    scene = watched(tmp_path / "in", origin.clock, another_writes)
    assert received(scene, bundle).n_photos == 3
    assert len(seen) == 6
    scene.store.close()


@pytest.mark.skipif(
    not hasattr(os, "fork"), reason="Windows has no lock on folders, there it takes the lock for longer"
)
def test_a_process_that_opens_the_records_meanwhile_sweeps_nothing_away(origin: Scene, tmp_path: Path) -> None:
    bundle = sent(origin, a_published_set(origin).id)
    place = tmp_path / "in"
    swept = []

    def another_opens() -> None:
        other = Store.open(place, f"sqlite:///{place / 'records.sqlite3'}", now=origin.clock)
        swept.append(other.sweep.removed)
        other.close()

    scene = watched(place, origin.clock, another_opens)
    version = received(scene, bundle)
    assert swept == [0] * 6
    assert len(pictures(scene, version)) == 3
    (place / "photos" / f"{'a' * 32}.jpg").write_bytes(b"cut off")
    scene.store.close()
    again = Store.open(place, f"sqlite:///{place / 'records.sqlite3'}", now=origin.clock)
    assert again.sweep.removed == 1
    again.close()


def test_where_folders_cannot_be_locked_taking_in_holds_the_write_lock_instead(
    origin: Scene, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("records.storage.folder_lock.fcntl", None)
    bundle = sent(origin, a_published_set(origin).id)
    refused = []

    def another_writes() -> None:
        with closing(sqlite3.connect(tmp_path / "in" / "records.sqlite3", timeout=0)) as other:
            try:
                other.execute("BEGIN IMMEDIATE")
            except sqlite3.OperationalError:
                refused.append(True)

    scene = watched(tmp_path / "in", origin.clock, another_writes)
    assert received(scene, bundle).n_photos == 3
    assert len(refused) == 6
    scene.store.close()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are killed by signal 9, which Windows lacks")
def test_killed_at_any_step_taking_in_leaves_the_whole_set_or_nothing(origin: Scene, tmp_path: Path) -> None:
    bundle = sent(origin, a_published_set(origin).id)
    found = []
    for step in range(1, 400, 7):
        folder = tmp_path / f"killed-{step}"
        folder.mkdir()
        lived = _take_in_until(folder, bundle, step, origin.clock)
        store = Store.open(folder, f"sqlite:///{folder / 'records.sqlite3'}", now=origin.clock)
        scene = Scene(store=store, person=local_person(store), clock=origin.clock, folder=folder)
        listed = sets.list_sets(store, scene.person)
        assert store.sweep.missing == ()
        if listed:
            version = sets.get_version(store, scene.person, listed[0].versions[0].id)
            assert len(pictures(scene, version)) == 3
            assert sets.seal_holds(store, scene.person, version.id) is True
        else:
            with store.reading() as session:
                assert session.execute(text("SELECT count(*) FROM photo")).scalar() == 0
                assert session.execute(text("SELECT count(*) FROM consent")).scalar() == 0
        assert len(scene.photo_names) == 6 * len(listed)
        found.append(len(listed))
        store.close()
        if lived:
            break
    assert lived
    assert len(found) >= 8
    assert found == sorted(found)
    assert found[0] == 0


def _take_in_until(folder: Path, bundle: bytes, step: int, now: Clock) -> bool:
    """Take the bundle in, in a child that is killed at that step; returns whether it lived to the end."""
    child = os.fork()
    if child == 0:
        try:
            reaper = Reaper(step, None)
            store = Store.open(
                folder,
                f"sqlite:///{folder / 'records.sqlite3'}",
                now=now,
                disk=ReapingDisk(reaper),
            )
            person = local_person(store)
            for name in ("before_cursor_execute", "commit"):
                event.listen(store.engine, name, reaper.step)
            reaper.arm()
            take_in(store, person, BytesIO(bundle), screen_copy=screen_copy)
        except BaseException:
            os._exit(1)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        assert os.WTERMSIG(status) == signal.SIGKILL
        return False
    assert os.waitstatus_to_exitcode(status) == 0
    return True


def test_a_bundle_put_together_by_hand_in_the_right_form_is_taken_in(origin: Scene, scene: Scene) -> None:
    """Shows that the broken bundles are refused for what is wrong with them, and not for having been repacked."""
    bundle = sent(origin, a_published_set(origin).id)
    assert Parts.of(bundle).zipped() == bundle
    there = received(scene, Parts.of(bundle).zipped())
    assert sets.frozen_keys(scene.store, scene.person, there.id)[str(there.photos[0].photo_id)].key == KEY
