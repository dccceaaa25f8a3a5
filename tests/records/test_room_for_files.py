"""One person cannot fill the disk for all: a share for each, one for all, and some of the disk stays free."""

import threading
from collections.abc import Iterator
from io import BytesIO

import numpy as np
import pytest
from bundle_scene import a_published_set, received, sent, sqlite_scene_in, state_of
from PIL import Image
from records_scene import DOLL, Scene, add, clean_jpeg, consent_of, consents_on_record, is_one_sentence

from records.consent.scans import MAX_SCAN_BYTES, add_scan
from records.consent.withdrawal import remove_photo
from records.errors import InvalidRecord, NoRoom
from records.identity import accounts
from records.identity.people import Person, Role
from records.models import PhotoRow
from records.photo import room
from records.photo.photos import PhotoRecord, add_photo, list_photos
from records.settings import Settings, change_settings, read_settings
from records.teaching_sets import list_sets

PASSWORD = "quiet river stones"
SIDE = 2200


@pytest.fixture(scope="module")
def large() -> bytes:
    """A photo of about four megabytes: noise, which does not compress."""
    stream = BytesIO()
    noise = np.random.default_rng(1).integers(0, 256, (SIDE, SIDE, 3), np.uint8)
    Image.fromarray(noise).save(stream, "JPEG", quality=90)
    assert 3.4 < len(stream.getvalue()) / 2**20 < 4.9
    return stream.getvalue()


@pytest.fixture
def school(scene: Scene) -> Iterator[tuple[Person, Person]]:
    """An educator and a student; each may keep ten megabytes, all together fifteen."""
    heron = accounts.first_account(scene.store, handle="heron", password=PASSWORD).person
    wren, _ = accounts.make_account(scene.store, heron, handle="wren", roles=frozenset({Role.STUDENT}))
    now = read_settings(scene.store)
    change_settings(scene.store, heron, Settings(person_megabytes=10, total_megabytes=15, revision=now.revision))
    return heron, wren


def keep(scene: Scene, person: Person, jpeg: bytes, consent: object = DOLL) -> PhotoRecord:
    return add_photo(
        scene.store, person, jpeg=jpeg, screen_jpeg=clean_jpeg(), width=SIDE, height=SIDE, title="Doll", consent=consent
    )  # type: ignore[arg-type]


def test_a_person_keeps_no_more_than_their_share_and_removing_makes_room(
    scene: Scene, school: tuple[Person, Person], large: bytes
) -> None:
    _, wren = school
    first, _ = keep(scene, wren, large), keep(scene, wren, large)
    before, consents = scene.photo_names, consents_on_record(scene.store, wren)
    with pytest.raises(NoRoom) as refused:
        keep(scene, wren, large, consent_of(scene.clock))
    assert is_one_sentence(refused.value)
    assert "one person" in str(refused.value)
    assert scene.photo_names == before
    assert consents_on_record(scene.store, wren) == consents
    add(scene.store, wren)
    remove_photo(scene.store, wren, first.id)
    keep(scene, wren, large)


def test_all_together_keep_no_more_than_the_schools_share(
    scene: Scene, school: tuple[Person, Person], large: bytes
) -> None:
    heron, wren = school
    for person in (heron, wren, heron):
        keep(scene, person, large)
    with pytest.raises(NoRoom, match="this school") as refused:
        keep(scene, wren, large)
    assert is_one_sentence(refused.value)
    now = read_settings(scene.store)
    change_settings(scene.store, heron, Settings(person_megabytes=10, total_megabytes=30, revision=now.revision))
    keep(scene, wren, large)


def test_many_at_once_get_no_more_in_than_one_after_the_other(
    scene: Scene, school: tuple[Person, Person], large: bytes
) -> None:
    _, wren = school
    ended: list[type] = []

    def one() -> None:
        try:
            ended.append(type(keep(scene, wren, large)))
        except NoRoom as refused:
            ended.append(type(refused))

    threads = [threading.Thread(target=one) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(kind.__name__ for kind in ended) == ["NoRoom"] * 4 + ["PhotoRecord"] * 2
    assert len(scene.photo_names) == 4


def test_scans_of_forms_count_for_whoever_put_the_consent_on_record(
    scene: Scene, school: tuple[Person, Person], large: bytes
) -> None:
    heron, wren = school
    consent_id = keep(scene, wren, large, consent_of(scene.clock)).consent_id
    add_scan(scene.store, wren, consent_id, b"%PDF-1.7\n" + bytes(5 * 2**20))
    for person in (wren, heron):
        with pytest.raises(NoRoom):
            add_scan(scene.store, person, consent_id, b"%PDF-1.7\n" + bytes(MAX_SCAN_BYTES - 9))
    with pytest.raises(NoRoom):
        keep(scene, wren, large)
    assert len(list((scene.folder / "consent_scans").iterdir())) == 1
    keep(scene, heron, large)


def test_a_photo_from_before_sizes_were_kept_counts_by_its_pixels(
    scene: Scene, school: tuple[Person, Person], large: bytes
) -> None:
    _, wren = school
    kept = keep(scene, wren, large)
    with scene.store.writing() as session:
        assert room.bytes_kept(session, wren.id) == len(large) + len(clean_jpeg())
        row = session.get_one(PhotoRow, kept.id)
        row.n_bytes = None
        session.flush()
        assert room.bytes_kept(session, wren.id) == SIDE * SIDE // 2


def test_a_bundle_that_has_no_room_is_refused_whole(sqlite_scene: Scene, large: bytes, tmp_path_factory) -> None:  # type: ignore[no-untyped-def]
    origin = sqlite_scene_in(tmp_path_factory.mktemp("origin") / "data")
    bundle = sent(origin, a_published_set(origin).id)
    origin.store.close()
    heron = accounts.first_account(sqlite_scene.store, handle="heron", password=PASSWORD).person
    now = read_settings(sqlite_scene.store)
    change_settings(sqlite_scene.store, heron, Settings(person_megabytes=10, total_megabytes=10, revision=now.revision))
    for _ in range(2):
        keep(sqlite_scene, heron, large)
    with sqlite_scene.store.writing() as session:
        [first, _] = session.query(PhotoRow).all()
        first.n_bytes = 10 * 2**20 - len(large) - 2_000
    before = state_of(sqlite_scene)
    with pytest.raises(NoRoom) as refused:
        received(sqlite_scene, bundle)
    assert is_one_sentence(refused.value)
    assert state_of(sqlite_scene) == before
    remove_photo(sqlite_scene.store, heron, list_photos(sqlite_scene.store, heron)[0].id)
    received(sqlite_scene, bundle)
    assert len(list_sets(sqlite_scene.store, heron)) == 1


def test_while_nobody_has_an_account_there_is_no_share(scene: Scene, large: bytes) -> None:
    with scene.store.writing() as session:
        room.check_share(session, scene.person.id, 10**15)
    assert keep(scene, scene.person, large).width == SIDE


@pytest.mark.parametrize(
    "wrong", [{"person_megabytes": 9}, {"person_megabytes": 20, "total_megabytes": 19}, {"total_megabytes": 10**9}]
)
def test_shares_that_make_no_sense_are_refused(wrong: dict[str, int]) -> None:
    with pytest.raises(InvalidRecord) as refused:
        Settings(**wrong)
    assert is_one_sentence(refused.value)
