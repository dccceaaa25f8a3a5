"""`measure` takes the millimetres from a card in the photo, and only where nothing else says them."""

import io
import json
from pathlib import Path

import pytest
from card_photos import CardView

from vision.commands.command import run
from vision.detect import FixedDetector
from vision.images import Photo, encode_png
from vision.landmarks import Point

BY = "fixed"
POINTS = {
    "nose_tip": Point(x=600, y=300, sigma=1, by=BY),
    "ear": Point(x=750, y=300, sigma=1, by=BY),
    "breast_at_nose": Point(x=600, y=240, sigma=1, by=BY),
}


def measured(photo: Path, *options: str) -> dict:
    out, err = io.StringIO(), io.StringIO()
    code = run(["measure", str(photo), *options], out=out, err=err, detector=lambda: FixedDetector(points=POINTS))
    assert (code, err.getvalue()) == (0, "")
    return json.loads(out.getvalue()) if "--json" in options else {"text": out.getvalue()}


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    view = CardView(mm_per_pixel=0.5, middle=(0.3, 0.4), roll_deg=10)
    path = tmp_path / "with_card.png"
    path.write_bytes(encode_png(Photo(pixels=view.photo())))
    return path


def test_a_card_in_the_photo_gives_the_millimetres(photo: Path) -> None:
    gap = measured(photo, "--json")["measures"]["nose_gap_mm"]
    assert gap["value"] == pytest.approx(30, rel=0.01)
    assert gap["low"] < 30 < gap["high"]


def test_the_text_says_that_the_card_must_lie_in_the_plane_of_the_face(photo: Path) -> None:
    assert "in its plane" in measured(photo)["text"]


def test_the_json_carries_what_there_is_to_say_of_the_card(photo: Path, tmp_path: Path) -> None:
    notes = measured(photo, "--json")["notes"]
    assert any("in its plane" in note for note in notes)
    tilted = tmp_path / "tilted.png"
    view = CardView(mm_per_pixel=0.5, middle=(0.3, 0.4), tilt_deg=35)
    tilted.write_bytes(encode_png(Photo(pixels=view.photo())))
    assert any("tilted" in note for note in measured(tilted, "--json")["notes"])


def test_without_a_card_there_are_no_millimetres_and_no_word_of_a_card(tmp_path: Path) -> None:
    path = tmp_path / "plain.png"
    path.write_bytes(encode_png(Photo(pixels=CardView(mm_per_pixel=0.5, middle=(5, 5)).photo())))
    assert measured(path, "--json")["measures"]["nose_gap_mm"]["value"] is None
    assert "scale card" not in measured(path)["text"]


def test_a_landmark_file_is_taken_as_it_stands_whatever_lies_in_the_photo(photo: Path, tmp_path: Path) -> None:
    points = {name: {"x": point.x, "y": point.y, "sigma": 1} for name, point in POINTS.items()}
    file = tmp_path / "points.json"
    file.write_text(json.dumps({"landmarks": points}))
    said = measured(photo, "--json", "--landmarks", str(file))
    assert said["measures"]["nose_gap_mm"]["value"] is None
