"""Many uploads at once: each read or refused by itself, doubles told, covers and cuts burned in, one consent for all."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from records_scene import consents_on_record, someone_else
from set_scene import File, data_folder, own_photo, picture
from streamlit.testing.v1 import AppTest

from records.classroom import classes
from records.consent.consents import DollDeclaration, Scope
from records.errors import NotAllowed
from records.identity.people import Role, add_person
from records.photo.photo_readings import keep_look_hash, look_hashes, photos_to_read, proposed_points
from records.photo.photos import list_photos, read_bytes
from screens import data
from screens.sets import pictures as set_pictures
from screens.uploads.batch import Batch, alike_lines, finished, keep_one, read_upload, stored_hashes, titled
from screens.uploads.point_worker import PointWorker
from vision.alike import photo_hash
from vision.cover import COVER_COLOUR
from vision.covering.areas import CoverArea, CoverKind, CoverShape
from vision.detect import FixedDetector
from vision.errors import UnreadablePhoto
from vision.images import encode_jpeg, read_photo
from vision.landmarks import LandmarkSet, Point
from vision.photo import Photo

DOLL = DollDeclaration(confirmed=True, shown="doll B")
POINTS = LandmarkSet(points={"chin": Point(x=5, y=6, by="profile_net")})


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    with data_folder():
        yield


def batch_of(*files: File) -> Batch:
    batch = Batch()
    for file in files:
        read_upload(batch, data.me(), file)
    return batch


def own() -> list[str]:
    return [photo.title for photo in list_photos(data.store(), data.me()) if photo.sample_id is None]


def test_a_refused_file_does_not_hold_up_the_others() -> None:
    files = [File("1", "a.jpg", picture(1)), File("2", "notes.jpg", b"no picture"), File("3", "b.jpg", picture(2))]
    batch = batch_of(*files)
    assert list(batch.waiting) == ["1", "3"]
    name, why = batch.refused["2"]
    assert name == "notes.jpg"
    assert why.endswith(".")
    assert all(batch.known(file.file_id) for file in files)


def test_nothing_is_stored_before_a_photo_is_kept() -> None:
    batch = batch_of(File("1", "a.jpg", picture(1)))
    assert own() == []
    token = batch.waiting["1"].small
    assert read_photo(set_pictures.waiting(data.me(), token)).width == 360
    with pytest.raises(KeyError):
        set_pictures.waiting(someone_else(data.store()), token)


def test_doubles_are_told_among_the_uploads_and_against_what_is_stored() -> None:
    turned = encode_jpeg(Photo(pixels=np.ascontiguousarray(np.rot90(read_photo(picture(1)).pixels))))
    batch = batch_of(File("1", "a.jpg", picture(1)), File("2", "b.jpg", turned), File("3", "c.jpg", picture(3)))
    kept = own_photo(3, title="Doll C")
    keep_look_hash(data.store(), data.me(), kept.id, photo_hash(read_photo(picture(3))))
    lines = alike_lines(batch, stored_hashes(data.store(), data.me()), {kept.id: kept.title})
    assert lines == {
        "1": ["Looks the same as “b.jpg”, turned."],
        "2": ["Looks the same as “a.jpg”, turned."],
        "3": ["Looks the same as your photo “Doll C”."],
    }


def test_a_hash_of_an_older_way_is_not_compared_and_breaks_nothing() -> None:
    kept = own_photo(3)
    keep_look_hash(data.store(), data.me(), kept.id, "older-way:00")
    assert stored_hashes(data.store(), data.me()) == {}


def test_what_is_stored_is_covered_first_and_then_cut() -> None:
    file = File("1", "a.jpg", picture(1))
    batch = batch_of(file)
    one = batch.waiting["1"]
    one.areas = (
        CoverArea(kind=CoverKind.FACE, shape=CoverShape.RECTANGLE, x=400, y=300, width=200, height=100, by="educator"),
    )
    one.crop = (300.0, 200.0, 300.0, 250.0)
    record = keep_one(data.store(), data.me(), batch, file, "Doll B, 1", DOLL)
    assert record is not None
    stored = read_photo(read_bytes(data.store(), data.me(), record.id))
    assert (stored.width, stored.height) == (300, 250) == (record.width, record.height)
    middle = stored.pixels[80:120, 60:140].reshape(-1, 3).astype(int)
    assert np.abs(middle - np.array(COVER_COLOUR)).max() <= 6
    assert finished(file, one).width == 300


def test_all_photos_of_a_batch_rest_on_one_consent_and_carry_numbered_titles() -> None:
    files = [File(str(n), f"{n}.jpg", picture(n)) for n in (1, 2, 3)]
    batch = batch_of(*files)
    batch.waiting["2"].title = "The odd one"
    titles = titled(batch, " Doll B, cradle ")
    for file in files:
        keep_one(data.store(), data.me(), batch, file, titles[file.file_id], DOLL)
    assert sorted(own()) == ["Doll B, cradle, 1", "Doll B, cradle, 3", "The odd one"]
    assert [consent.shown for consent in consents_on_record(data.store(), data.me())] == ["doll B"]
    assert batch.waiting == {}
    assert set(look_hashes(data.store(), data.me())) == set(batch.kept.values())


def test_another_declaration_for_the_rest_is_another_consent() -> None:
    files = [File(str(n), f"{n}.jpg", picture(n)) for n in (1, 2)]
    batch = batch_of(*files)
    keep_one(data.store(), data.me(), batch, files[0], "one", DOLL)
    keep_one(data.store(), data.me(), batch, files[1], "two", DollDeclaration(confirmed=True, shown="doll C"))
    assert {consent.shown for consent in consents_on_record(data.store(), data.me())} == {"doll B", "doll C"}


def test_a_photo_that_cannot_be_kept_waits_with_its_reason_and_the_others_are_kept() -> None:
    files = [File(str(n), f"{n}.jpg", picture(n)) for n in (1, 2)]
    batch = batch_of(*files)
    batch.waiting["1"].crop = (0.0, 0.0, 10.0, 10.0)
    kept = [keep_one(data.store(), data.me(), batch, file, "x", DOLL) for file in files]
    assert [record is not None for record in kept] == [False, True]
    assert "at least" in str(batch.waiting["1"].fault)
    assert own() == ["x"]


def test_uploads_taken_off_the_list_are_forgotten_with_their_pictures() -> None:
    batch = batch_of(File("1", "a.jpg", picture(1)), File("2", "b.jpg", picture(2)), File("3", "c.jpg", b"x"))
    token = batch.waiting["1"].small
    batch.drop_all_but(["2"])
    assert (list(batch.waiting), batch.refused) == (["2"], {})
    with pytest.raises(KeyError):
        set_pictures.waiting(data.me(), token)


def test_the_worker_proposes_points_for_all_own_photos_and_each_once() -> None:
    asked: list[tuple[int, int]] = []

    class Counting(FixedDetector):
        def detect(self, pixels: np.ndarray, box: object) -> object:
            asked.append(pixels.shape[:2])
            return super().detect(pixels, box)

    photos = [own_photo(seed) for seed in (1, 2)]
    worker = PointWorker(data.store, lambda: Counting(points=POINTS.points))
    assert worker.ask_for_all(data.me()) == 2
    worker.ask(data.me(), photos[0].id)
    worker.wait()
    assert len(asked) == 2
    assert proposed_points(data.store(), data.me(), photos[0].id).landmarks == POINTS
    assert worker.ask_for_all(data.me()) == 0


def test_a_photo_in_which_the_detector_stumbles_counts_as_looked_at() -> None:
    class Stumbling:
        def detect(self, pixels: object, box: object) -> object:  # noqa: ARG002
            raise UnreadablePhoto("no models here")

    photo = own_photo(1)
    worker = PointWorker(data.store, lambda: Stumbling())
    worker.ask(data.me(), photo.id)
    worker.wait()
    assert proposed_points(data.store(), data.me(), photo.id).landmarks == LandmarkSet()
    assert photos_to_read(data.store(), data.me()) == ()


def test_the_worker_outlives_a_photo_out_of_reach_and_a_fault_nobody_foresaw(caplog: pytest.LogCaptureFixture) -> None:
    first, second = own_photo(1), own_photo(2)
    other = someone_else(data.store())
    calls = iter([ZeroDivisionError("nobody foresaw this")])

    class Faulty(FixedDetector):
        def detect(self, pixels: np.ndarray, box: object) -> object:
            for fault in calls:
                raise fault
            return super().detect(pixels, box)

    worker = PointWorker(data.store, lambda: Faulty(points=POINTS.points))
    worker.ask(other, first.id)
    worker.wait()
    worker.ask(data.me(), first.id)
    worker.ask(data.me(), second.id)
    worker.wait()
    assert "no points could be proposed" in caplog.text
    assert proposed_points(data.store(), data.me(), second.id).landmarks == POINTS
    with pytest.raises(NotAllowed):
        proposed_points(data.store(), other, second.id)


CONSENT_PAGE = """
from screens.uploads import consent_fields

said = consent_fields.ask_and_sign("x", many=MANY)
import streamlit as st
st.text("none" if said is None else f"{said.shown} {said.authority} {len(said.scopes)} {said.class_id}")
"""


def consent_page(*, many: bool) -> AppTest:
    return AppTest.from_string(CONSENT_PAGE.replace("MANY", str(many)), default_timeout=30).run()


@pytest.mark.parametrize(("many", "n_scopes"), [(True, 2), (False, 1)])
def test_a_consent_for_people_counts_only_once_everything_is_said_authority_included(many: bool, n_scopes: int) -> None:
    test = consent_page(many=many)
    for box in test.checkbox:
        box.check()
    test.text_input[0].set_value("pair 3")
    test.text_input[1].set_value("the adult shown")
    assert test.run().text[0].value == "none"
    test.text_input[2].set_value("the adult shown, its parent")
    assert test.run().text[0].value == f"pair 3 the adult shown, its parent {n_scopes} None"
    test.checkbox[0].uncheck()
    assert test.run().text[0].value == "none"


@pytest.mark.parametrize("many", [True, False])
def test_a_consent_for_a_class_may_name_one_of_the_person_s_classes(many: bool) -> None:
    store, until = data.store(), data.store().today() + timedelta(days=9)
    mine = classes.new_class(store, data.me(), title="Linden Room", keep_until=until)
    with store.writing() as session:
        other = add_person(store, session, "other", frozenset({Role.INSTRUCTOR}))
    classes.new_class(store, other, title="Alder Room", keep_until=until)
    test = consent_page(many=many)
    assert not test.selectbox
    for box, text in zip(test.text_input, ("pair 3", "the adult shown", "its parent"), strict=True):
        box.set_value(text)
    for box in test.checkbox:
        box.check()
    test.multiselect[0].set_value([Scope.OWN_PRACTICE, Scope.OWN_CLASS]).run()
    [which] = test.selectbox
    assert which.options == ["Whichever class is given the photos", "Linden Room"]
    assert test.text[0].value == "pair 3 its parent 2 None"
    which.set_value(mine.id).run()
    assert test.text[0].value == f"pair 3 its parent 2 {mine.id}"
    test.multiselect[0].set_value([Scope.OWN_PRACTICE]).run()
    assert test.text[0].value == "pair 3 its parent 1 None"
