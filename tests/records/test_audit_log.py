"""The audit log is read by an educator, and by nobody else."""

import pytest
from records_scene import Scene, add, someone_else

from records.auditing.audit import Outcome
from records.auditing.audit_log import read_log
from records.errors import NotAllowed
from records.identity.people import Role
from records.photo.photos import get_photo


def test_an_educator_reads_what_was_refused_and_that_the_log_is_whole(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    stranger = someone_else(scene.store, Role.STUDENT)
    with pytest.raises(NotAllowed):
        get_photo(scene.store, stranger, photo.id)
    log = read_log(scene.store, someone_else(scene.store, Role.EDUCATOR))
    refused = log.entries[0]
    assert (refused.actor_id, refused.action, refused.outcome) == (stranger.id, "get_photo", Outcome.REFUSED)
    assert (log.chain.broken_at, log.chain.n_entries) == (None, refused.number)


def test_only_so_many_lines_are_read_the_newest_first(scene: Scene) -> None:
    stranger = someone_else(scene.store, Role.STUDENT)
    for _ in range(4):
        with pytest.raises(NotAllowed):
            read_log(scene.store, stranger)
    numbers = [line.number for line in read_log(scene.store, scene.person, most=3).entries]
    assert numbers == sorted(numbers, reverse=True)
    assert len(numbers) == 3
