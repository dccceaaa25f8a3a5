"""The pages of teaching sets without a browser: states in plain words, what hinders, saved at once, faults in one sentence."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from records_scene import someone_else
from set_scene import (
    KEY,
    POINTS,
    choose,
    data_folder,
    draft,
    keyed_photo,
    own_photo,
    page,
    press,
    published,
    said,
    samples,
)

from records import teaching_sets as sets
from records.bundles import bundles_of
from records.consent.withdrawal import remove_photo
from records.identity.people import Role
from records.key.expert_keys import expert_keys_of, set_expert_key
from records.key.reference_keys import How, key_to_edit, write_key
from records.photo.photo_readings import keep_proposed_points
from records.teaching_sets import State
from rubric.answers import Answer, KeyAnswer, ReferenceKey
from screens import data
from screens.uploads import waiting_points
from screens.uploads.point_worker import PointWorker
from vision.detect import FixedDetector
from vision.landmarks import LandmarkSet, Point


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    with data_folder():
        # The real detector loads models for seconds; what it finds is not what these pages are about.
        quick = PointWorker(data.store, lambda: FixedDetector(points={}))
        monkeypatch.setattr(waiting_points, "worker", lambda: quick)
        yield
        quick.wait()


def now(version: sets.VersionRecord) -> sets.VersionRecord:
    return sets.get_version(data.store(), data.me(), version.id)


def test_the_list_is_empty_in_words_and_leads_to_a_new_set() -> None:
    test = page("sets")
    assert "There is no set yet" in said(test)
    test.text_input[0].set_value("First looks")
    press(test, "Begin a set")
    [one] = sets.list_sets(data.store(), data.me())
    assert one.title == "First looks"
    assert "There is no photo in the set." in said(test)


def test_a_set_without_a_title_is_refused_in_one_sentence() -> None:
    test = press(page("sets"), "Begin a set")
    assert [error.value for error in test.error] == [
        "Please give the title of the set in 1 to 80 plain characters, got 0."
    ]


def test_the_list_says_each_versions_state_in_plain_words() -> None:
    version = published(keyed_photo())
    sets.new_draft(data.store(), data.me(), version.set_id)
    words = said(page("sets"))
    assert "Published: frozen, classes can be given it" in words
    assert "Draft: still changing" in words
    sets.retire(data.store(), data.me(), version.id)
    assert "Retired: given to no more classes" in said(page("sets"))


def test_photos_move_up_and_down_and_out() -> None:
    photos = [keyed_photo(seed) for seed in (1, 2, 3)]
    built = draft(*photos)
    test = page("set", version=built.id)
    press(test, "Down")
    assert [one.photo_id for one in now(built).photos] == [photos[1].id, photos[0].id, photos[2].id]
    press(test, "Up", 2)
    press(test, "Take out")
    assert [one.photo_id for one in now(built).photos] == [photos[2].id, photos[0].id]


def test_difficulty_and_notes_are_saved_at_once() -> None:
    built = draft(keyed_photo())
    test = choose(page("set", version=built.id), "Difficulty", "Hard")
    test.text_area[0].set_value("the twist is easily missed").run()
    test.text_area[-1].set_value("for week 2").run()
    saved = now(built)
    assert (saved.photos[0].difficulty, saved.photos[0].note, saved.notes) == (
        3,
        "the twist is easily missed",
        "for week 2",
    )


def test_an_old_page_overwrites_nothing_and_says_so() -> None:
    built = draft(keyed_photo(1), keyed_photo(2))
    test = page("set", version=built.id)
    sets.set_notes(data.store(), data.me(), built.id, "from another window", expected_revision=built.revision)
    press(test, "Down")
    assert "changed in another window" in test.error[0].value
    assert now(built).notes == "from another window"


def test_what_hinders_publishing_is_listed_and_the_button_waits() -> None:
    built = draft(keyed_photo(1), own_photo(2))
    test = page("set", version=built.id)
    assert "Photo 2, Doll 2: it has no reference key." in said(test)
    [button] = [one for one in test.button if one.label == "Publish this set"]
    assert button.disabled


def test_a_set_of_many_photos_without_keys_lists_ten_and_counts_the_rest() -> None:
    words = said(page("set", version=draft(*(own_photo(seed) for seed in range(12))).id))
    assert words.count("it has no reference key") == 10
    assert "And 2 more of the kind." in words


def test_publishing_freezes_the_set_and_offers_paper_export_and_a_new_draft() -> None:
    built = draft(keyed_photo(), samples(1)[0])
    test = press(page("set", version=built.id), "Publish this set")
    assert now(built).state == State.PUBLISHED
    words = said(test)
    assert "Published. Instructors can give it" in words
    assert f"/set-worksheets/{built.id}/key.pdf" in words
    assert [one.label for one in test.button if one.label == "New draft"]
    assert "/media/" not in words
    press(test, "New draft")
    assert "Version 2. Draft" in said(test)


def test_an_export_asks_to_whom_and_links_to_the_file() -> None:
    version = published(keyed_photo())
    test = page("set", version=version.id)
    press(test, "Make the file with 1 photo")
    assert "to whom it goes" in test.error[0].value
    test.text_input[0].set_value("Linden Room")
    press(test, "Make the file with 1 photo")
    [made] = bundles_of(data.store(), data.me(), version.id)
    assert f"/set-bundles/{made.id}/teaching-set.zip" in said(test)


def test_a_version_that_was_changed_behind_the_programs_back_says_so() -> None:
    from sqlalchemy import text

    version = published(keyed_photo())
    with data.store().writing() as session:
        session.execute(text("UPDATE set_photo SET note = 'slipped in'"))
    assert "no longer what was published" in said(page("set", version=version.id))


def test_a_key_is_saved_at_once_but_not_before_phase_and_view_are_said() -> None:
    photo = own_photo()
    test = page("key", photo=photo.id)
    choose(test, "When", "At the breast")
    assert key_to_edit(data.store(), data.me(), photo.id).revision == 0
    choose(test, "From", "Side")
    assert key_to_edit(data.store(), data.me(), photo.id).revision == 1
    test.segmented_control[0].set_value("Signs").run()
    choose(test, "2. ", "Seen")
    [why] = test.text_area
    why.set_value("no light between them").run()
    test.pills[0].set_value([Answer.NOT_SEEN]).run()
    key = key_to_edit(data.store(), data.me(), photo.id).key
    assert key is not None
    assert dict(key.answers) == {
        "close": KeyAnswer(answer=Answer.SEEN, why="no light between them", accepted=frozenset({Answer.NOT_SEEN}))
    }
    choose(test, "2. ", "Not in the key")
    after = key_to_edit(data.store(), data.me(), photo.id)
    assert after.key is not None
    assert after.key.answers == {}
    assert "Who changed what" in [one.label for one in test.expander]


def test_a_key_changed_in_another_window_is_not_overwritten() -> None:
    photo = keyed_photo()
    test = page("key", photo=photo.id)
    other = ReferenceKey(phase=KEY.phase, view=KEY.view, answers={"close": KEY.answers["close"]})
    write_key(data.store(), data.me(), photo.id, other, POINTS, expected_revision=1)
    choose(test, "From", "Oblique")
    assert "What you see here was not saved." in test.error[0].value
    assert key_to_edit(data.store(), data.me(), photo.id).key == other
    press(test, "Show what is on record")
    choose(test, "From", "Oblique")
    assert key_to_edit(data.store(), data.me(), photo.id).revision == 3


def test_proposed_points_are_offered_and_fill_in_only_what_is_not_placed() -> None:
    photo = keyed_photo()
    proposed = LandmarkSet(points={"chin": Point(x=5, y=6, by="profile_net"), "ear": Point(x=1, y=1, by="profile_net")})
    keep_proposed_points(data.store(), data.me(), photo.id, proposed)
    press(page("key", photo=photo.id), "Take over 1 proposed point")
    points = key_to_edit(data.store(), data.me(), photo.id).landmarks
    assert points is not None
    assert points.points["chin"].by == "profile_net"
    assert points.points["ear"] == POINTS.points["ear"]


def test_the_key_of_a_shipped_photo_can_be_looked_at_only() -> None:
    test = page("key", photo=samples(1)[0].id)
    assert "its key stays as it is" in said(test)
    assert all(one.disabled for one in test.radio)


def test_an_experts_own_reading_is_kept_apart_from_the_reference_key() -> None:
    photo = keyed_photo()
    draft(photo)
    assert "Your own reading" in said(press(page("experts"), "Read this photo"))
    test = page("key", photo=photo.id, reading="1")
    choose(test, "When", "Before the latch")
    choose(test, "From", "Front")
    mine = expert_keys_of(data.store(), data.me(), photo.id).mine
    assert mine is not None
    assert mine.key.phase == "before"
    assert key_to_edit(data.store(), data.me(), photo.id).key == KEY


def test_the_agreement_and_what_experts_part_on_are_shown_and_a_key_is_made_of_theirs() -> None:
    photo = own_photo()
    built = draft(photo)
    parted = ReferenceKey(
        phase=KEY.phase,
        view=KEY.view,
        answers={**KEY.answers, "close": KeyAnswer(answer=Answer.NOT_SEEN, why="a gap")},
    )
    for key in (KEY, parted):
        person = someone_else(data.store(), Role.INSTRUCTOR)
        set_expert_key(data.store(), person, photo.id, key, POINTS, expected_revision=0)
    test = page("experts", version=built.id)
    assert "They part on" not in said(test)
    press(test, "Open the readings")
    words = said(test)
    assert "agree in 50 % of 2 answers" in words
    assert "They part on:" in words
    assert "No gap shows" in words
    press(test, "Make the key")
    made = key_to_edit(data.store(), data.me(), photo.id)
    assert made.key is not None
    assert set(made.key.answers) == {"lips_out"}
    assert made.landmarks is not None
    assert set(made.landmarks.points) == set(POINTS.points)
    assert made.history[0].how == How.FROM_EXPERTS
    assert "agree in 50 %" in said(page("set", version=built.id))


def test_how_far_experts_points_lie_apart_is_told_and_where_they_part_is_said_in_words() -> None:
    photo = own_photo()
    built = draft(photo)
    nose = POINTS.points["nose_tip"]
    further = replace(POINTS, points={**POINTS.points, "nose_tip": replace(nose, x=nose.x + 40)})
    for points in (POINTS, further):
        set_expert_key(
            data.store(), someone_else(data.store(), Role.INSTRUCTOR), photo.id, KEY, points, expected_revision=0
        )
    words = said(press(page("experts", version=built.id), "Open the readings"))
    assert "Their points part:" in words
    assert "nose tip" in words.split("Their points part:")[1].split("Look at these together")[0]
    assert "2 of 2" in words
    assert "0.0 %" in words


def test_a_photo_that_was_removed_leaves_a_mark_on_every_page_of_its_set_and_breaks_none() -> None:
    photos = [keyed_photo(seed) for seed in (1, 2)]
    version = published(*photos)
    built = sets.new_draft(data.store(), data.me(), version.set_id)
    remove_photo(data.store(), data.me(), photos[0].id)
    words = said(page("set", version=version.id))
    assert "This photo was removed." in words
    assert photos[0].id not in words
    assert "Photos (1)" in words
    assert "Photo 1: It was removed." in words
    assert "Photos (1)" in said(page("set", version=built.id))
    assert "2. Doll 2" in said(page("experts", version=version.id))
    assert len(page("key", photo=photos[0].id).error) == 1


@pytest.mark.parametrize(("name", "query"), [("set", {"version": "0" * 32}), ("key", {"photo": "0" * 32})])
def test_an_address_of_something_that_is_not_there_ends_in_one_sentence(name: str, query: dict[str, str]) -> None:
    test = page(name, **query)
    assert len(test.error) == 1
    assert "Traceback" not in said(test)


def test_the_page_for_many_photos_says_that_nothing_is_stored_before_it_is_said() -> None:
    assert "Nothing is stored before that" in said(page("many-photos"))
