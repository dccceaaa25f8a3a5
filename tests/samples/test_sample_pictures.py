"""The sample pictures keep what the app and the teaching rely on."""

import json
from math import acos, degrees, hypot
from pathlib import Path

import pytest
from PIL import Image

from rubric.answers import Answer, Phase, Settles, View
from vision.card.reading import CardFound, find_scale_card
from vision.images import read_photo
from vision.landmarks import LANDMARK_IDS

FOLDER = Path(__file__).parents[2] / "sample_images"
SAMPLES = sorted(FOLDER.glob("*.json"))


def _angle_deg(at: dict, a: dict, b: dict) -> float:
    ax, ay, bx, by = a["x"] - at["x"], a["y"] - at["y"], b["x"] - at["x"], b["y"] - at["y"]
    return degrees(acos((ax * bx + ay * by) / (hypot(ax, ay) * hypot(bx, by))))


def test_every_picture_has_its_truth_and_every_truth_its_picture():
    assert len(SAMPLES) >= 24
    assert {p.stem for p in SAMPLES} == {p.stem for p in FOLDER.glob("*.jpg")}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_a_picture_is_small_and_carries_no_metadata(path):
    picture = path.with_suffix(".jpg")
    assert picture.stat().st_size <= 500_000
    with Image.open(picture) as image:
        assert image.format == "JPEG"
        assert not image.getexif()
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_true_points_have_known_names_and_lie_in_the_picture(path):
    truth = json.loads(path.read_text(encoding="utf-8"))
    with Image.open(path.with_suffix(".jpg")) as image:
        assert image.size == (truth["width"], truth["height"])
    assert truth["landmarks"]
    for name, point in truth["landmarks"].items():
        assert name in LANDMARK_IDS
        assert 0 <= point["x"] < truth["width"]
        assert 0 <= point["y"] < truth["height"]
        assert point["visibility"] in (1, 2)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_the_true_body_line_is_the_one_that_its_own_points_make_or_absent_with_one_of_them(path):
    truth = json.loads(path.read_text(encoding="utf-8"))
    points = truth["landmarks"]
    if not {"ear", "shoulder", "hip"} <= set(points):
        assert truth["true"]["alignment_angle"] is None
        return
    expected = _angle_deg(points["shoulder"], points["ear"], points["hip"])
    assert truth["true"]["alignment_angle"] == pytest.approx(expected, abs=0.2)


@pytest.mark.parametrize("path", [p for p in SAMPLES if p.stem.endswith("_side")], ids=lambda p: p.stem)
def test_a_side_view_shows_nearly_the_true_gape(path):
    """The corner lies off the midline, so up to 10 degrees off the side view the picture differs a little."""
    truth = json.loads(path.read_text(encoding="utf-8"))
    points = truth["landmarks"]
    shown = _angle_deg(points["mouth_corner"], points["upper_lip_edge"], points["lower_lip_edge"])
    assert truth["true"]["gape_angle"] == pytest.approx(shown, abs=12)
    assert abs(truth["head_yaw_deg"] - 90) <= 10


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_a_key_answers_in_the_words_of_the_rubric(path):
    key = json.loads(path.read_text(encoding="utf-8"))["key"]
    assert Phase(key["phase"])
    assert View(key["view"])
    assert key["answers"]
    for answer in key["answers"].values():
        given = Answer(answer["answer"])
        assert answer["why"].endswith(".")
        assert (answer["settles"] is not None) == (given == Answer.CANT_TELL)
        assert answer["settles"] is None or Settles(answer["settles"])
        assert answer["spot"] is None or given != Answer.CANT_TELL
        assert given.value not in answer["accepted"]


def test_the_printed_card_gives_the_true_millimetres_of_its_picture():
    """The card lies in the plane of the face; 1 % is about 1.5 mm on the card's long side."""
    truth = json.loads((FOLDER / "scale_card_side.json").read_text(encoding="utf-8"))
    photo = read_photo((FOLDER / "scale_card_side.jpg").read_bytes())
    found = find_scale_card(photo.pixels)
    assert isinstance(found, CardFound)
    assert found.n_marks >= 4
    assert not found.warnings
    assert found.scale.mm_per_pixel == pytest.approx(truth["mm_per_pixel"], rel=0.01)


@pytest.mark.parametrize("sign", ["hands_clear", "adult_relaxed"])
def test_a_sign_of_the_adult_is_seen_in_some_pictures_and_not_in_others(sign):
    """Or a student would learn the answer and not to look."""
    keys = [json.loads(path.read_text(encoding="utf-8"))["key"]["answers"] for path in SAMPLES]
    assert {"seen", "not_seen"} <= {key[sign]["answer"] for key in keys if sign in key}


def test_the_pictures_show_all_tones_holds_views_and_phases_and_stay_small_together():
    truths = [json.loads(path.read_text(encoding="utf-8")) for path in SAMPLES]
    assert {t["skin_tone"] for t in truths} == set(range(1, 9))
    assert {t["hold"] for t in truths} == {"cradle", "cross_cradle", "under_arm", "laid_back", "side_lying"}
    assert {t["view"] for t in truths} == {view.value for view in View}
    assert {t["phase"] for t in truths} == {phase.value for phase in Phase}
    assert sum(path.with_suffix(".jpg").stat().st_size for path in SAMPLES) <= 12_000_000
