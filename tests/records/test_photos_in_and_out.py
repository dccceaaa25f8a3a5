"""Photos: in through a consent, out while it covers the use, whole or not at all."""

import errno
import os
from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image
from records_scene import (
    DOLL,
    Clock,
    Scene,
    add,
    clean_jpeg,
    consent_of,
    consents_on_record,
    is_one_sentence,
    someone_else,
)
from sqlalchemy import String, inspect, text

from records.consent.consents import DollDeclaration, Kind, Scope
from records.errors import (
    ConsentExpired,
    ConsentMissing,
    InvalidRecord,
    NotAllowed,
    NotFound,
    StorageFault,
)
from records.photo.photos import PhotoRecord, add_photo, check_use, get_photo, list_photos, read_bytes
from records.storage.disk import LocalDisk
from records.store import Store


class FaultyDisk:
    """The disk of this computer until call number `fails_at`, which it refuses with `code`."""

    def __init__(self, fails_at: int, code: int = errno.ENOSPC) -> None:
        self._disk = LocalDisk()
        self._left = fails_at
        self._code = code

    def __getattr__(self, name: str):
        call = getattr(self._disk, name)

        def counted(*arguments: object) -> object:
            self._left -= 1
            if self._left == 0:
                if name == "close":
                    call(*arguments)
                raise OSError(self._code, os.strerror(self._code))
            return call(*arguments)

        return counted


def test_a_doll_photo_comes_back_as_it_was(scene: Scene) -> None:
    photo = add(scene.store, scene.person, title="  Doll A, cradle ")
    assert photo.title == "Doll A, cradle"
    assert (photo.kind, photo.refusal, photo.sample_id, photo.has_key) == (Kind.DOLL, None, None, False)
    assert (photo.width, photo.height, photo.added_at) == (48, 32, scene.clock())
    assert get_photo(scene.store, scene.person, photo.id) == photo
    assert read_bytes(scene.store, scene.person, photo.id, "full") == clean_jpeg()
    assert read_bytes(scene.store, scene.person, photo.id, "screen") == clean_jpeg(24, 16)


def test_newest_photos_come_first(scene: Scene) -> None:
    old = add(scene.store, scene.person, title="old")
    scene.clock.turn(minutes=1)
    new = add(scene.store, scene.person, title="new")
    assert list_photos(scene.store, scene.person) == (new, old)


def test_an_unconfirmed_doll_declaration_cannot_be_made() -> None:
    with pytest.raises(ConsentMissing) as caught:
        DollDeclaration(confirmed=False)
    assert is_one_sentence(caught.value)


@pytest.mark.parametrize(
    ("scopes", "days_later", "error"),
    [
        ((Scope.OWN_CLASS, Scope.TEACHING_SETS, Scope.PRINTED), 0, ConsentMissing),
        ((Scope.OWN_PRACTICE,), 31, ConsentExpired),
        ((Scope.OWN_PRACTICE,), -2, ConsentMissing),
    ],
    ids=["for other uses", "over since yesterday", "starts tomorrow"],
)
def test_a_photo_of_a_person_does_not_enter_without_a_consent_for_this_use_today(
    scene: Scene, scopes: tuple[Scope, ...], days_later: int, error: type[Exception]
) -> None:
    # The clock of the records never goes back, so the consent is dated, and not the day.
    consent = consent_of(Clock(scene.clock.moment - timedelta(days=days_later)), *scopes)
    with pytest.raises(error) as caught:
        add(scene.store, scene.person, consent)
    assert is_one_sentence(caught.value)
    assert scene.photo_names == set()
    assert list_photos(scene.store, scene.person) == ()
    assert consents_on_record(scene.store, scene.person) == ()


def test_a_consent_covers_its_last_day_and_not_the_next(scene: Scene) -> None:
    photo = add(scene.store, scene.person, consent_of(scene.clock, days=2))
    scene.clock.turn(days=2)
    assert read_bytes(scene.store, scene.person, photo.id) == clean_jpeg()
    scene.clock.turn(days=1)
    for kind in ("full", "screen"):
        with pytest.raises(ConsentExpired) as caught:
            read_bytes(scene.store, scene.person, photo.id, kind)  # type: ignore[arg-type]
        assert is_one_sentence(caught.value)
    later = get_photo(scene.store, scene.person, photo.id)
    assert later.refusal == str(caught.value)


def test_each_use_is_asked_by_itself(scene: Scene) -> None:
    photo = add(scene.store, scene.person, consent_of(scene.clock, Scope.OWN_PRACTICE, Scope.PRINTED))
    check_use(scene.store, scene.person, photo.id, Scope.PRINTED)
    assert read_bytes(scene.store, scene.person, photo.id, use=Scope.PRINTED) == clean_jpeg()
    for use in (Scope.OWN_CLASS, Scope.TEACHING_SETS):
        with pytest.raises(ConsentMissing):
            check_use(scene.store, scene.person, photo.id, use)
        with pytest.raises(ConsentMissing):
            read_bytes(scene.store, scene.person, photo.id, use=use)


def test_a_consent_on_record_takes_in_a_second_photo(scene: Scene) -> None:
    first = add(scene.store, scene.person, consent_of(scene.clock))
    second = add(scene.store, scene.person, first.consent_id, shade=200)
    assert second.consent_id == first.consent_id
    [consent] = consents_on_record(scene.store, scene.person)
    assert consent.id == first.consent_id
    assert (consent.shown, consent.given_by, consent.form_version) == ("pair 3", "parent with authority", "form 2")
    assert (consent.kind, consent.faces_covered, consent.withdrawn_on) == (Kind.PERSON, True, None)


def test_a_consent_of_someone_else_or_of_nobody_takes_in_nothing(scene: Scene) -> None:
    other = someone_else(scene.store)
    theirs = add(scene.store, other, consent_of(scene.clock))
    with pytest.raises(NotAllowed):
        add(scene.store, scene.person, theirs.consent_id)
    with pytest.raises(NotFound):
        add(scene.store, scene.person, "0" * 32)
    assert list_photos(scene.store, scene.person) == ()
    assert len(scene.photo_names) == 2


@pytest.mark.parametrize("change", [{"shown": " "}, {"given_by": ""}, {"form_version": "x" * 81}, {"shown": "a\nb"}])
def test_a_consent_with_an_empty_or_odd_text_cannot_be_made(scene: Scene, change: dict[str, str]) -> None:
    with pytest.raises(InvalidRecord) as caught:
        consent_of(scene.clock, **change)
    assert is_one_sentence(caught.value)


def test_a_consent_that_ends_before_it_starts_cannot_be_made(scene: Scene) -> None:
    with pytest.raises(InvalidRecord):
        consent_of(scene.clock, days=-2)


def add_bytes(scene: Scene, jpeg: bytes, *, width: int = 48, title: str = "Cradle") -> PhotoRecord:
    return add_photo(
        scene.store,
        scene.person,
        jpeg=jpeg,
        screen_jpeg=clean_jpeg(24, 16),
        width=width,
        height=32,
        title=title,
        consent=DOLL,
    )


def jpeg_with(**extra: object) -> bytes:
    stream = BytesIO()
    Image.new("RGB", (48, 32), (9, 9, 9)).save(stream, "JPEG", **extra)
    return stream.getvalue()


def exif() -> Image.Exif:
    found = Image.Exif()
    found[0x010E] = "a description"
    return found


@pytest.mark.parametrize(
    "jpeg",
    [
        pytest.param(jpeg_with(exif=exif()), id="Exif"),
        pytest.param(jpeg_with(comment=b"who it is"), id="comment"),
        pytest.param(jpeg_with(xmp=b"<x:xmpmeta/>"), id="XMP"),
        pytest.param(jpeg_with(icc_profile=b"profile"), id="profile"),
        pytest.param(clean_jpeg() + b"hidden behind the end", id="bytes after the end"),
        pytest.param(clean_jpeg()[:-2], id="cut short"),
        pytest.param(clean_jpeg()[:200], id="cut in the tables"),
        pytest.param(b"", id="empty"),
        pytest.param(b"GIF89a" + clean_jpeg(), id="another format"),
    ],
)
def test_a_picture_that_holds_more_or_less_than_its_pixels_is_refused(scene: Scene, jpeg: bytes) -> None:
    with pytest.raises(InvalidRecord) as caught:
        add_bytes(scene, jpeg)
    assert is_one_sentence(caught.value)
    assert scene.photo_names == set()


@pytest.mark.parametrize(
    "extra", [{"progressive": True}, {"restart_marker_rows": 1}, {"quality": 95, "subsampling": 0}]
)
def test_every_kind_of_clean_jpeg_is_taken(scene: Scene, extra: dict[str, object]) -> None:
    jpeg = jpeg_with(**extra)
    assert read_bytes(scene.store, scene.person, add_bytes(scene, jpeg).id) == jpeg


def test_a_wrong_size_or_an_empty_title_is_refused(scene: Scene) -> None:
    with pytest.raises(InvalidRecord, match="48 x 32 pixels, got 47 x 32"):
        add_bytes(scene, clean_jpeg(), width=47)
    with pytest.raises(InvalidRecord):
        add_bytes(scene, clean_jpeg(), title="\t")


def test_stored_names_are_random_and_no_column_can_hold_the_name_of_an_upload(scene: Scene) -> None:
    photo = add(scene.store, scene.person, title="my title")
    with scene.store.reading() as session:
        [row] = session.execute(text("SELECT * FROM photo")).mappings()
        columns = {c["name"]: c["type"] for c in inspect(session.connection()).get_columns("photo")}
    texts = {name for name, kind in columns.items() if isinstance(kind, String)}
    assert texts == {
        *("id", "owner_id", "consent_id", "sample_id", "title"),
        *("file_name", "sha256", "screen_file_name", "screen_sha256", "origin_id", "look_hash"),
    }
    assert {row["file_name"], row["screen_file_name"]} == scene.photo_names
    stems = {Path(name).stem for name in scene.photo_names}
    assert len(stems | {photo.id}) == 3
    assert all(len(stem) == 32 and int(stem, 16) >= 0 for stem in stems)
    assert row["title"] == "my title"


def test_a_file_changed_on_the_disk_is_not_shown(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    for name in scene.photo_names:
        (scene.folder / "photos" / name).write_bytes(clean_jpeg(shade=1))
    with pytest.raises(StorageFault, match="changed on the disk") as caught:
        read_bytes(scene.store, scene.person, photo.id)
    assert is_one_sentence(caught.value)


def test_opening_removes_files_without_a_record_leaves_strangers_and_names_missing_photos(scene: Scene) -> None:
    kept, lost = add(scene.store, scene.person), add(scene.store, scene.person, shade=3)
    folder = scene.folder / "photos"
    with scene.store.reading() as session:
        name = session.scalar(text("SELECT screen_file_name FROM photo WHERE id = :id"), {"id": lost.id})
    (folder / str(name)).unlink()
    for orphan in ("a" * 32 + ".jpg", "b" * 32 + ".part"):
        (folder / orphan).write_bytes(b"left behind")
    (folder / "notes of the owner.txt").write_text("not ours")
    again = Store.open(scene.folder, now=scene.clock)
    assert (again.sweep.removed, again.sweep.missing, again.sweep.not_removed) == (2, (lost.id,), 0)
    assert "notes of the owner.txt" in scene.photo_names
    assert read_bytes(again, scene.person, kept.id) == clean_jpeg()
    with pytest.raises(StorageFault, match="missing"):
        read_bytes(again, scene.person, lost.id, "screen")
    again.close()


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EACCES, errno.EROFS])
def test_a_disk_that_refuses_any_one_call_ends_in_one_sentence_and_leaves_nothing(scene: Scene, code: int) -> None:
    said: list[StorageFault] = []
    for fails_at in range(1, 40):
        store = Store.open(scene.folder, now=scene.clock, disk=FaultyDisk(fails_at, code))
        try:
            add(store, scene.person)
        except StorageFault as error:
            said.append(error)
            assert scene.photo_names == set()
            assert list_photos(store, scene.person) == ()
            assert consents_on_record(store, scene.person) == ()
        else:
            assert len(scene.photo_names) == 2
            break
        finally:
            store.close()
    # Two files: create, write, sync, close, rename, sync of the folder.
    assert len(said) == 12
    assert all(is_one_sentence(error) for error in said)


def test_a_file_gets_its_name_only_after_its_bytes_are_safe_and_the_name_is_made_safe_too(scene: Scene) -> None:
    """A power cut cannot be tried here, so the order of the calls is what is held."""
    calls: list[str] = []

    class NotingDisk:
        def __getattr__(self, name: str):
            calls.append(name)
            return getattr(LocalDisk(), name)

    store = Store.open(scene.folder, now=scene.clock, disk=NotingDisk())
    add(store, scene.person)
    store.close()
    assert calls == ["create", "write", "sync", "close", "rename", "sync_folder"] * 2


def test_files_are_removed_when_the_record_cannot_be_kept(sqlite_scene: Scene) -> None:
    with sqlite_scene.store.writing() as session:
        session.execute(text("CREATE TRIGGER refuse BEFORE INSERT ON photo BEGIN SELECT RAISE(ABORT, 'no'); END"))
    with pytest.raises(InvalidRecord):
        add(sqlite_scene.store, sqlite_scene.person)
    assert sqlite_scene.photo_names == set()


def test_opening_never_sweeps_away_a_photo_on_its_way_in(scene: Scene) -> None:
    """The files are on the disk and the record is not: another window opens the store just then."""
    opened: list[str] = []

    class DiskWithAVisitor(LocalDisk):
        def sync_folder(self, folder: Path) -> None:
            super().sync_folder(folder)
            try:
                Store.open(scene.folder, busy_seconds=0.1).close()
                opened.append("swept")
            except StorageFault:
                opened.append("waited")

    store = Store.open(scene.folder, now=scene.clock, disk=DiskWithAVisitor())
    photo = add(store, scene.person)
    assert opened == ["waited", "waited"]
    assert read_bytes(store, scene.person, photo.id, "screen") == clean_jpeg(24, 16)
    store.close()
