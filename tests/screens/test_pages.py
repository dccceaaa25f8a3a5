"""The pages as a person meets them, without a browser: empty states, the two orders of work, faults in one sentence."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path

import cv2
import numpy as np
import pytest
import set_scene
from set_scene import data_folder
from streamlit.testing.v1 import AppTest

from records.attempt.attempts import Order, Step, resume, save_points, start_attempt
from records.attempt.handing_in import history
from records.attempt.own_sigma import own_sigma_for
from records.consent.consents import DollDeclaration
from records.photo.photos import PhotoRecord, add_photo, list_photos
from screens import data
from screens.practice.own_spread import OwnSpread, own_spread, with_own_spread
from screens.samples import SCREEN_LONGEST
from vision.images import Photo, encode_jpeg
from vision.landmarks import LandmarkSet, Point

page = partial(set_scene.page, patience_s=30)
FACE = {"nose_tip": (100, 100), "ear": (300, 100), "mouth_corner": (150, 180), "upper_lip_edge": (110, 150)}
MOUTH_AND_BODY = {**FACE, "lower_lip_edge": (110, 215), "chin": (120, 250), "shoulder": (420, 180), "hip": (700, 330)}


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path))
    with data_folder():
        yield


def landmarks(places: dict[str, tuple[int, int]]) -> LandmarkSet:
    return LandmarkSet(points={name: Point(x=x, y=y) for name, (x, y) in places.items()})


def own_photo() -> PhotoRecord:
    pixels = cv2.resize(np.full((6, 8, 3), 180, np.uint8), (800, 600))
    jpeg = encode_jpeg(Photo(pixels=pixels))
    return add_photo(
        data.store(),
        data.me(),
        jpeg=jpeg,
        screen_jpeg=jpeg,
        width=800,
        height=600,
        title="Doll Q",
        consent=DollDeclaration(confirmed=True),
    )


def said(test: AppTest) -> str:
    """All words on the page, markup and all."""
    kinds = ("title", "header", "subheader", "markdown", "error", "warning", "info", "success")
    parts = [str(element.value) for kind in kinds for element in test.get(kind)]
    return "\n".join([*parts, *(html.proto.body for html in test.get("html"))])


def choose(test: AppTest, label: str, option: str) -> None:
    """Choose one of a group of radio buttons by the words shown."""
    (radio,) = [one for one in test.radio if one.label.startswith(label)]
    (index,) = [at for at, words in enumerate(radio.options) if words.startswith(option)]
    radio.set_value(radio.options[index]).run()
    assert not test.exception


def press(test: AppTest, label: str) -> AppTest:
    (button,) = [one for one in test.button if one.label == label]
    button.click().run()
    assert not test.exception
    return test


def begin(order: Order = Order.SCORE_FIRST) -> str:
    return start_attempt(data.store(), data.me(), own_photo().id, order).id


def test_the_start_page_says_what_this_is_what_to_mind_and_offers_the_doll_photos() -> None:
    words = said(page("start"))
    assert "you may stop at any time" in words
    assert "diagnoses nothing" in words
    assert "break the seal with a clean finger" in words
    assert "/photos/" in words
    assert "/media/" not in words


def test_every_shipped_sample_fits_the_screen_so_that_its_picture_serves_as_its_own_copy() -> None:
    photos = [photo for photo in list_photos(data.store(), data.me()) if photo.sample_id]
    assert photos
    assert max(max(photo.width, photo.height) for photo in photos) <= SCREEN_LONGEST
    assert len({photo.title for photo in photos}) == len(photos)


@pytest.mark.parametrize("name", ["practise", "feedback", "progress"])
def test_an_empty_page_says_what_to_do_and_leads_to_the_photos(name: str) -> None:
    test = press(page(name), "Choose a photo")
    assert "See the latch, see the line" in said(test)


def test_no_sign_is_asked_before_phase_and_view_are_said() -> None:
    test = page("practise", attempt=begin())
    assert [one.label for one in test.radio] == ["When was it taken?", "From where?"]
    choose(test, "When", "Before")
    choose(test, "From", "Front")
    assert len([one for one in test.radio if one.label[0].isdigit()]) == 3


def test_the_first_look_shows_no_measure_and_the_second_one_does() -> None:
    attempt = begin()
    save_points(data.store(), data.me(), attempt, 1, landmarks(MOUTH_AND_BODY), 0)
    test = page("practise", attempt=attempt)
    choose(test, "When", "At the breast")
    choose(test, "From", "Side")
    assert "Mouth opens" not in said(test)
    press(test, "Next: Points and measures")
    press(test, "Next: Score again")
    assert "Mouth opens" in said(test)


def test_measure_first_shows_the_measures_beside_the_only_look() -> None:
    attempt = begin(Order.MEASURE_FIRST)
    save_points(data.store(), data.me(), attempt, 1, landmarks(MOUTH_AND_BODY), 0)
    test = press(page("practise", attempt=attempt), "Next: Score")
    choose(test, "When", "At the breast")
    choose(test, "From", "Side")
    assert "Mouth opens" in said(test)
    choose(test, "1. ", "Seen")
    press(test, "Next: Hand in")
    press(test, "Hand in")
    (done,) = history(data.store(), data.me())
    assert set(done.sheets) == {1}
    assert "no key for this photo yet" in said(test)


def test_evidence_never_fills_in_an_answer() -> None:
    attempt = begin()
    save_points(data.store(), data.me(), attempt, 1, landmarks(MOUTH_AND_BODY), 0)
    test = page("practise", attempt=attempt)
    choose(test, "When", "At the breast")
    choose(test, "From", "Side")
    press(test, "Next: Points and measures")
    press(test, "Next: Score again")
    assert [one.value for one in test.radio if one.label[0].isdigit()] == [None] * 10


def test_both_scores_are_kept_and_a_blank_is_told_before_handing_in() -> None:
    attempt = begin()
    test = page("practise", attempt=attempt)
    choose(test, "When", "At the breast")
    choose(test, "From", "Side")
    choose(test, "1. ", "Seen")
    press(test, "Next: Points and measures")
    press(test, "Next: Score again")
    choose(test, "1. ", "Not seen")
    choose(test, "2. ", "Can't tell")
    press(test, "Next: Hand in")
    words = said(test)
    assert "Left blank:" in words
    assert "<td>Seen</td><td>Not seen</td>" in words
    press(test, "Hand in")
    (done,) = history(data.store(), data.me())
    assert [done.sheets[r].answers["body_line"].answer.value for r in (1, 2)] == ["seen", "not_seen"]
    assert set(done.final_sheet.answers) == {"body_line", "close"}


def test_answers_to_signs_that_no_longer_apply_are_not_handed_in() -> None:
    test = page("practise", attempt=begin(Order.MEASURE_FIRST))
    press(test, "Next: Score")
    choose(test, "When", "At the breast")
    choose(test, "From", "Side")
    choose(test, "1. ", "Seen")
    choose(test, "From", "Front")
    choose(test, "1. ", "Seen")
    press(test, "Next: Hand in")
    press(test, "Hand in")
    (done,) = history(data.store(), data.me())
    assert set(done.final_sheet.answers) == {"close"}


def test_without_a_phase_nothing_can_be_handed_in() -> None:
    attempt = begin(Order.MEASURE_FIRST)
    test = press(press(page("practise", attempt=attempt), "Next: Score"), "Next: Hand in")
    assert "taken is not said yet" in said(test)
    assert "Hand in" not in [one.label for one in test.button]


def test_the_blind_round_gives_the_own_spread_and_the_ranges_use_it() -> None:
    attempt = begin()
    store, me = data.store(), data.me()
    save_points(store, me, attempt, 1, landmarks(MOUTH_AND_BODY), 0)
    moved = {name: (x + 4, y - 4) for name, (x, y) in MOUTH_AND_BODY.items()}
    save_points(store, me, attempt, 2, landmarks(moved), 0)
    test = page("practise", attempt=attempt)
    press(test, "Next: Points and measures")
    press(test, "Begin the blind round")
    press(test, "Finish the blind round")
    record = resume(store, me, attempt)
    assert record.step == Step.MEASURE
    # sigma squared = sum(dx² + dy²) / 4n = 32 / 4 for a shift of 4 and 4 pixels.
    assert [point.sigma for point in record.landmarks(1).points.values()] == pytest.approx(
        [8**0.5] * len(MOUTH_AND_BODY)
    )
    spread = own_sigma_for(store, me)
    assert spread is not None
    assert spread.n_points == len(MOUTH_AND_BODY)
    assert "not how near the truth" in said(test)


def test_too_few_points_twice_give_no_spread_but_a_reason() -> None:
    two = landmarks({name: FACE[name] for name in ("ear", "nose_tip")})
    found = own_spread(two, two)
    assert isinstance(found, str)
    assert found.endswith(".")


def test_the_first_look_is_closed_once_points_are_placed() -> None:
    attempt = begin()
    test = page("practise", attempt=attempt)
    choose(test, "When", "At the breast")
    choose(test, "From", "Side")
    choose(test, "1. ", "Seen")
    press(test, "Next: Points and measures")
    save_points(data.store(), data.me(), attempt, 1, landmarks(MOUTH_AND_BODY), 0)
    again = press(page("practise", attempt=attempt), "Back: Look and score")
    assert again.radio
    assert all(one.disabled for one in again.radio)
    assert "Your first look is closed" in said(again)


def test_the_own_spread_leaves_the_points_of_detectors_alone() -> None:
    points = {"ear": Point(x=1, y=1, sigma=9, by="profile_net"), "chin": Point(x=2, y=2)}
    spread = OwnSpread(sigma_px=2.0, percent_of_face=None, n_points=5)
    after = with_own_spread(LandmarkSet(points=points), spread)
    assert (after.points["ear"].sigma, after.points["chin"].sigma) == (9, 2.0)


def test_an_attempt_that_does_not_exist_ends_in_one_sentence() -> None:
    test = page("practise", attempt="0" * 32)
    assert len(test.error) == 1
    assert "Traceback" not in said(test)
