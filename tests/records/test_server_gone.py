"""A PostgreSQL server that goes away and comes back: one sentence meanwhile, nothing lost afterwards."""

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from records_scene import MEASURES, POINTS, SHEET, Clock, add, is_one_sentence

from records.attempt.attempts import open_attempts, save_points, save_sheet, start_attempt
from records.attempt.handing_in import hand_in, history
from records.errors import RecordsError, StorageFault
from records.identity.people import local_person
from records.store import Store
from tests.postgres import Server, programs


@pytest.fixture
def server(request: pytest.FixtureRequest) -> Iterator[Server]:
    """A server that may be killed, so one that waits for its disk."""
    if programs() is None:
        request.getfixturevalue("postgres")
    with (
        TemporaryDirectory(prefix="postgres-") as folder,
        Server.running(Path(folder) / "server", waits_for_disk=True) as made,
    ):
        yield made


def test_a_server_killed_in_the_middle_is_told_in_one_sentence_and_loses_nothing_that_was_saved(
    server: Server, tmp_path: Path
) -> None:
    store = Store.open(tmp_path, server.url("postgres"), now=Clock(), busy_seconds=2)
    person = local_person(store)
    photo = add(store, person)
    done = start_attempt(store, person, photo.id)
    save_sheet(store, person, done.id, 1, SHEET, 0)
    hand_in(store, person, done.id, measures_json=MEASURES, measure_version="1")
    half = start_attempt(store, person, photo.id)
    save_points(store, person, half.id, 1, POINTS, 0)
    server.kill()
    with pytest.raises(StorageFault) as caught:
        save_sheet(store, person, half.id, 1, SHEET, 0)
    assert is_one_sentence(caught.value)
    assert "does not answer" in str(caught.value)
    server.start()
    [handed] = history(store, person)
    assert (handed.attempt_id, handed.final_sheet) == (done.id, SHEET)
    [still_open] = open_attempts(store, person)
    assert still_open.landmarks(1) == POINTS
    assert save_sheet(store, person, half.id, 1, SHEET, 0) == 1
    store.close()


def test_an_address_where_no_server_listens_is_told_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(RecordsError) as caught:
        Store.open(tmp_path, "postgresql+psycopg://postgres@127.0.0.1:9/postgres?connect_timeout=2")
    assert is_one_sentence(caught.value)
    assert "does not answer" in str(caught.value)
