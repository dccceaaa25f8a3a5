"""A batch half done outlives the page: for its own person in its own session, in memory, within its time, and no longer."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from records_scene import someone_else
from set_scene import File, choose, data_folder, page, picture, press, said
from streamlit.testing.v1 import AppTest

from records.identity.people import Role
from records.photo.photos import list_photos
from screens import data
from screens.uploads import shelf
from screens.uploads.batch import Batch, read_upload


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    shelf._shelf.clear()
    with data_folder():
        yield
    shelf._shelf.clear()


def whose(session: str = "one session") -> shelf.Whose:
    return shelf.Whose(person_id=data.me().id, session=session)


def shelved(page: str = "first page", n: int = 2, session: str = "one session") -> tuple[Batch, dict[str, File]]:
    files = {str(seed): File(str(seed), f"{seed}.jpg", picture(seed)) for seed in range(1, n + 1)}
    batch = Batch()
    for file in files.values():
        read_upload(batch, data.me(), file)
    shelf.put(whose(session), page, batch, files)
    return batch, files


def own() -> list[str]:
    return [photo.title for photo in list_photos(data.store(), data.me()) if photo.sample_id is None]


def test_only_the_same_person_in_the_same_session_is_offered_it() -> None:
    shelved()
    other = someone_else(data.store(), Role.EDUCATOR)
    [offer] = shelf.offers(whose(), "second page")
    assert (offer.page, offer.n_photos) == ("first page", 2)
    assert shelf.offers(whose(), "first page") == []
    for stranger in (whose("another session"), shelf.Whose(person_id=other.id, session="one session")):
        assert shelf.offers(stranger, "second page") == []
        assert shelf.take_over(stranger, "second page", of="first page") is None


def test_taking_over_gives_batch_and_files_and_the_first_page_learns_of_it() -> None:
    batch, files = shelved()
    found = shelf.take_over(whose(), "second page", of="first page")
    assert found == (batch, files)
    assert shelf.was_taken(whose(), "first page", batch)
    assert not shelf.was_taken(whose(), "second page", batch)
    assert shelf.take_over(whose(), "third page", of="first page") is None


def test_what_was_kept_waits_no_more_and_an_empty_batch_leaves_the_shelf() -> None:
    batch, files = shelved()
    del batch.waiting["1"]
    shelf.put(whose(), "first page", batch, files)
    assert [one.n_photos for one in shelf.offers(whose(), "second page")] == [1]
    del batch.waiting["2"]
    shelf.put(whose(), "first page", batch, files)
    assert shelf._shelf == {}


def test_it_goes_when_the_session_ends_and_others_stay() -> None:
    shelved()
    shelved("its page", session="another session")
    shelf.forget_session("one session")
    assert shelf.offers(whose(), "second page") == []
    assert len(shelf.offers(whose("another session"), "second page")) == 1


def test_it_goes_after_two_hours_from_its_beginning_even_where_nobody_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [1000.0]
    monkeypatch.setattr(shelf.time, "monotonic", lambda: now[0])
    batch, files = shelved()
    now[0] += shelf.SECONDS_KEPT - 1
    shelf.put(whose(), "first page", batch, files)
    assert len(shelf.offers(whose(), "second page")) == 1
    assert shelf._timer is not None
    assert shelf._timer.daemon
    now[0] += 2
    shelf._run_out()  # what the timer does
    assert shelf._shelf == {}


def test_where_room_runs_out_the_oldest_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    _, files = shelved("old page")
    monkeypatch.setattr(shelf, "MOST_BYTES", sum(file.size for file in files.values()) + 10)
    shelved("new page")
    assert [one.page for one in shelf.offers(whose(), "third page")] == ["new page"]


def uploaded() -> AppTest:
    test = page("many-photos")
    test.file_uploader[0].set_value([(f"{seed}.png", picture(seed), "image/jpeg") for seed in (1, 2, 3)]).run()
    next(box for box in test.checkbox if box.label == "Leave out").check().run()
    return test


def test_after_a_reload_the_batch_is_offered_goes_on_as_it_was_and_can_be_kept() -> None:
    first = uploaded()
    assert "waits here" not in said(first)
    again = page("many-photos")
    assert "A batch of 3 photos waits here" in said(again)
    press(again, "Go on with it here")
    assert [box.value for box in again.checkbox if box.label == "Leave out"] == [True, False, False]
    assert not list((Path(data.store().folder) / "photos").glob("*.part"))
    assert own() == []
    choose(again, "What do these photos show?", "Dolls or teaching models, and no person")
    next(box for box in again.checkbox if box.label.startswith("I declare")).check().run()
    next(box for box in again.text_input if box.label.startswith("Title for all")).set_value("Doll").run()
    press(again, "Keep 2 photos")
    assert sorted(own()) == ["Doll, 1", "Doll, 2"]
    assert "waits here" not in said(page("many-photos"))
    assert "waits here" not in said(again)


def test_a_page_whose_batch_was_taken_over_says_so_and_begins_anew() -> None:
    first = uploaded()
    press(page("many-photos"), "Go on with it here")
    first.run()
    assert "on another page" in said(first)
    assert "Keep" not in " ".join(button.label for button in first.button)


def test_a_batch_can_be_thrown_away_from_the_new_page() -> None:
    uploaded()
    again = press(page("many-photos"), "Throw it away")
    assert "waits here" not in said(again)
    assert shelf._shelf == {}
