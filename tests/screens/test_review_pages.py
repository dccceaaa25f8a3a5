"""The review without a browser: the example, what stands out, the projector, and whom each page refuses."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from records_scene import Clock, Scene, someone_else
from review_scene import all_handed_in, do, simulated_class
from set_scene import data_folder, page, press, said

from records.classroom.class_work import answers_of
from records.classroom.example_class import example_class_of
from records.identity import accounts
from records.identity.people import Person, Role
from records.key.expert_keys import set_expert_key
from rubric.answers import Answer, KeyAnswer, ReferenceKey
from rubric.review.findings import FindingKind
from screens import data
from screens.classes.example_class import WEAK_ITEM, open_example_class
from screens.review.before_after import summed, unseen
from screens.review.contrast import contrast_pair
from screens.review.findings import heading
from screens.review.habits import HELPS
from screens.review.work import reviewed
from vision.landmarks import LandmarkSet


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    with data_folder():
        yield


def scene_here(tmp_path: Path) -> Scene:
    """The program's own store as the records' tests know it."""
    return Scene(store=data.store(), person=data.me(), clock=Clock(data.store().now()), folder=tmp_path / "data")


def test_the_example_is_one_click_away_and_shows_what_was_planted() -> None:
    test = press(page("start"), "Make the example and open its review")
    words = said(test)
    assert "Review: Doll photos (example)" in words
    assert "All students and all answers here are invented" in words
    assert "480 of 480 handed in" in test.get("progress")[0].proto.text
    work = reviewed(data.store(), data.me(), example_class_of(data.store(), data.me()).work_id, data.checklist())
    assert (FindingKind.ITEM, WEAK_ITEM) in [(one.finding.kind, one.finding.item) for one in work.review.points]
    for point in work.review.points:
        assert heading(work, point) in words
        assert HELPS[point.finding.kind].split("“")[0][:60] in words
    assert "Student 8" in words  # reads wide
    assert "over-claiming" in words.lower()
    assert "halo" in words


def test_a_second_click_opens_the_same_example_and_it_can_be_taken_out() -> None:
    first = open_example_class(data.store(), data.me(), data.checklist())
    test = press(page("start"), "Open the example's review")
    assert example_class_of(data.store(), data.me()) == first
    assert "Review: Doll photos (example)" in said(test)
    test = press(page("start"), "Remove the example")
    assert example_class_of(data.store(), data.me()) is None
    assert "The example is gone" in said(test)
    assert "Make the example and open its review" in [one.label for one in test.button]


def test_every_heading_of_the_review_is_drawn_with_its_tables() -> None:
    example = open_example_class(data.store(), data.me(), data.checklist())
    tables = {
        "Signs and photos": ("Agree with the key", "Agreement among students"),
        "Angles": ("Each student's own", "always wide"),
        "Points on the photos": ("Spread of the clicks",),
        "Students": ("What the second look changed", "no ranking"),
        "Experts": ("No photo of this work was read by two experts",),
    }
    for part, wanted in tables.items():
        test = page("review", work=example.work_id)
        [chosen] = [one for one in test.get("button_group") if one.label == "Show"]
        chosen.set_value(part).run()
        assert not test.exception
        for words in wanted:
            assert words in said(test), part


def test_a_photo_opens_sign_by_sign_and_the_map_shows_who_cannot_tell() -> None:
    example = open_example_class(data.store(), data.me(), data.checklist())
    work = reviewed(data.store(), data.me(), example.work_id, data.checklist())
    test = page("review", work=example.work_id)
    [chosen] = [one for one in test.get("button_group") if one.label == "Show"]
    chosen.set_value("Signs and photos").run()
    [opened] = [one for one in test.selectbox if one.label.startswith("Open a photo")]
    opened.set_value("3").run()
    table = work.review.table
    row = table.key.photos.index("3")
    column = int(np.flatnonzero(table.key.answers[row] >= 0)[0])
    counts = "".join(f"<td>{count}</td>" for count in table.counts[row, column].tolist())
    assert counts in said(test)
    [cells] = [one for one in test.get("button_group") if one.label == "In each cell"]
    cells.set_value("Said can't tell").run()
    assert not test.exception
    assert "the key cannot tell" in said(test)


def test_where_the_experts_part_the_class_is_shown_and_not_compared(tmp_path: Path) -> None:
    handed = all_handed_in(simulated_class(scene_here(tmp_path), n_students=6, n_photos=2))
    work = reviewed(data.store(), data.me(), handed.made.work.id, data.checklist())
    key = work.slots["1"].key
    assert key is not None
    other = Answer.NOT_SEEN if key.answers["lips_out"].answer != Answer.NOT_SEEN else Answer.SEEN
    parted = ReferenceKey(
        phase=key.phase, view=key.view, answers={**key.answers, "lips_out": KeyAnswer(answer=other, why="my own eyes")}
    )
    for one in (key, parted):
        expert = someone_else(data.store(), Role.INSTRUCTOR)
        set_expert_key(data.store(), expert, handed.made.photos[0].id, one, LandmarkSet(), expected_revision=0)
    words = said(page("review", work=handed.made.work.id))
    assert "Where the experts themselves part" in words
    counts = work.review.table.counts[0, work.review.table.key.items.index("lips_out")]
    assert f"{int(counts.max())} " in words.split("Where the experts part")[-1]
    assert "Experts part on 1 answer of the key" in words


def test_names_stand_on_the_page_only_once_they_are_asked_for() -> None:
    example = open_example_class(data.store(), data.me(), data.checklist())
    [first, *_] = answers_of(data.store(), data.me(), example.work_id, with_names=True).students
    test = page("review", work=example.work_id)
    assert str(first.handle) not in said(test)
    [chosen] = [one for one in test.get("button_group") if one.label == "Show"]
    chosen.set_value("Students").run()
    test.toggle[0].set_value(True).run()
    assert str(first.handle) in said(test)
    assert "?names=1" in said(test)


def test_the_projector_shows_sums_and_no_student_and_the_key_only_when_asked() -> None:
    example = open_example_class(data.store(), data.me(), data.checklist())
    test = page("projector", work=example.work_id, photo="3")
    words = said(test)
    assert "● seen: " in words
    assert "Student" not in words
    assert "Example student" not in words
    assert "The key:" not in words
    test.toggle[0].set_value(True).run()
    assert "The key:" in said(test)


def test_the_projector_shows_nothing_for_fewer_than_five(tmp_path: Path) -> None:
    handed = all_handed_in(simulated_class(scene_here(tmp_path), n_students=4, n_photos=2))
    words = said(page("projector", work=handed.made.work.id))
    assert "shown from 5 answers on" in words
    assert "Shown from 5 students on" in words  # before and after
    for told in ("seen: ", "answers went to the key"):
        assert told not in words


def test_before_and_after_compares_with_unseen_photos_only(tmp_path: Path) -> None:
    scene = scene_here(tmp_path)
    handed = all_handed_in(simulated_class(scene, n_students=5, n_photos=3))
    work = reviewed(scene.store, scene.person, handed.made.work.id, data.checklist())
    assert unseen(work, work) == []
    all_of_it = summed(work, list(work.slots))
    table = work.review.table
    assert all_of_it.agrees.n == int(table.compared.sum())
    assert all_of_it.agrees.count == int((table.compared & ~table.differs).sum())
    one = summed(work, ["2"])
    assert one.agrees.n == int(table.compared[:, 1].sum())


def test_a_sum_over_fewer_than_five_students_is_empty(tmp_path: Path) -> None:
    scene = scene_here(tmp_path)
    handed = simulated_class(scene, n_students=6, n_photos=2)
    for student in range(4):
        do(handed, student, 1, handed.first.answers[student, 0])
    work = reviewed(scene.store, scene.person, handed.made.work.id, data.checklist())
    assert summed(work, ["1"]).agrees.value is None


def test_a_contrast_pair_has_the_sign_on_one_photo_only_and_is_taken_alike_where_the_set_allows() -> None:
    example = open_example_class(data.store(), data.me(), data.checklist())
    work = reviewed(data.store(), data.me(), example.work_id, data.checklist())
    keys = {photo: slot.key for photo, slot in work.slots.items() if slot.key is not None}
    pairs = {item: contrast_pair(work.review.table, keys, item) for item in work.review.table.key.items}
    found = {item: pair for item, pair in pairs.items() if pair is not None}
    assert len(found) >= 3
    for item, pair in found.items():
        assert keys[pair.with_sign].answers[item].answer == "seen"
        assert keys[pair.without_sign].answers[item].answer == "not_seen"
        assert not keys[pair.with_sign].answers[item].accepted
    assert contrast_pair(work.review.table, keys, "no such sign") is None


def in_school(*roles: Role) -> Person:
    """Someone in a school, by whom the pages are then asked for."""
    accounts.first_account(data.store(), handle="heron", password="quiet river stones")
    return someone_else(data.store(), *roles)


@pytest.mark.parametrize("roles", [(Role.STUDENT,), (Role.EDUCATOR,), (Role.INSTRUCTOR,)])
def test_whoever_does_not_run_the_class_gets_one_sentence_and_no_figure(
    roles: tuple[Role, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    example = open_example_class(data.store(), data.me(), data.checklist())
    other = in_school(*roles)
    monkeypatch.setattr(data, "visitor", lambda: other)
    for name in ("review", "projector"):
        test = page(name, work=example.work_id)
        assert len(test.error) == 1
        assert "handed in" not in said(test)


def test_only_whoever_may_run_classes_is_offered_the_example(monkeypatch: pytest.MonkeyPatch) -> None:
    for roles, offered in (((Role.STUDENT,), False), ((Role.EDUCATOR,), False), ((Role.INSTRUCTOR,), True)):
        person = someone_else(data.store(), *roles)
        monkeypatch.setattr(data, "visitor", lambda person=person: person)
        assert ("See how a class is reviewed" in said(page("start"))) == offered
    assert "See how a class is reviewed" in said(page("classes"))


def test_a_review_of_nothing_says_so_and_looks_for_nothing(tmp_path: Path) -> None:
    handed = simulated_class(scene_here(tmp_path), n_students=3, n_photos=2)
    words = said(page("review", work=handed.made.work.id))
    assert "invented" not in words
    assert "Nothing stands out" in words
    assert "nothing to tell yet" in words
