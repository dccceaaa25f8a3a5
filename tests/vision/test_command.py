"""`python -m vision measure`: its JSON, its exit codes, its one sentence on stderr."""

import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import photo_files as files
import pytest
from doll_drawing import DOLL_POINTS, doll_landmarks, doll_photo

from vision.commands.command import run
from vision.detect import Box, Detection, FixedDetector
from vision.errors import ModelUnavailable
from vision.images import encode_jpeg, encode_png, read_photo
from vision.landmark_files import landmarks_to_json
from vision.landmarks import LandmarkSet
from vision.measures import MEASURE_NAMES, VERSION, measure_all, measure_to_json

PROJECT = Path(__file__).resolve().parent.parent.parent
DETECTOR = FixedDetector(
    points=doll_landmarks(0.5).points, head_yaw=doll_landmarks().head_yaw, notes=("No hip: hidden.",)
)


class AskedDetector:
    """Remembers what it was asked."""

    def __init__(self) -> None:
        self.boxes: list[Box | None] = []

    def detect(self, pixels: Any, box: Box | None) -> Detection:
        assert pixels.shape[2] == 3
        self.boxes.append(box)
        return Detection(landmarks=LandmarkSet())


def call(*arguments: object, detector: Any = DETECTOR) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = run([str(argument) for argument in arguments], out=out, err=err, detector=lambda: detector)
    return code, out.getvalue(), err.getvalue()


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "doll.jpg"
    path.write_bytes(encode_jpeg(doll_photo(800, 600)))
    return path


@pytest.fixture
def bad_photo(tmp_path: Path) -> Path:
    path = tmp_path / "letter.jpg"
    path.write_text("not a photo", encoding="utf-8")
    return path


@pytest.fixture
def points(tmp_path: Path) -> Path:
    path = tmp_path / "points.json"
    path.write_text(json.dumps(landmarks_to_json(doll_landmarks(0.5))), encoding="utf-8")
    return path


def strict(text: str) -> Any:
    def refuse(word: str) -> float:
        raise AssertionError(f"{word} is no JSON")

    return json.loads(text, parse_constant=refuse)


def assert_one_sentence(text: str) -> None:
    assert text.endswith("\n")
    assert text.count("\n") == 1
    assert ". " not in text
    assert "Traceback" not in text


def test_json_has_exactly_the_promised_parts(photo: Path, points: Path) -> None:
    code, out, err = call("measure", photo, "--landmarks", points, "--json")
    assert (code, err, out.count("\n")) == (0, "", 1)
    said = strict(out)
    assert list(said) == ["photo", "version", "width", "height", "head_yaw_deg", "landmarks", "measures", "notes"]
    assert (said["photo"], said["version"], said["width"], said["height"]) == ("doll.jpg", VERSION, 800, 600)
    assert said["head_yaw_deg"] == 84
    assert set(said["landmarks"]) == set(DOLL_POINTS)
    for entry in said["landmarks"].values():
        assert set(entry) == {"x", "y", "sigma", "visibility", "by"}
        assert entry["sigma"] > 0
    assert list(said["measures"]) == list(MEASURE_NAMES)
    for entry in said["measures"].values():
        assert list(entry) == ["value", "low", "high", "unit", "reason"]


def test_the_command_says_the_numbers_of_the_package(photo: Path, points: Path) -> None:
    _, out, _ = call("measure", photo, "--landmarks", points, "--json")
    expected = {name: measure_to_json(result) for name, result in measure_all(doll_landmarks(0.5)).items()}
    assert strict(out)["measures"] == expected


def test_a_detector_is_asked_for_each_photo_and_told_of_the_box(photo: Path) -> None:
    detector = AskedDetector()
    assert call("measure", photo, photo, "--box", "10,20,300,400", detector=detector)[0] == 0
    assert call("measure", photo, detector=detector)[0] == 0
    box = Box(x=10, y=20, width=300, height=400)
    assert detector.boxes == [box, box, None]


def test_points_that_a_detector_finds_are_measured(photo: Path) -> None:
    said = strict(call("measure", photo, "--json")[1])
    assert set(said["landmarks"]) == set(DOLL_POINTS)
    assert said["measures"]["alignment_angle"]["value"] == pytest.approx(
        measure_all(doll_landmarks())["alignment_angle"].value
    )  # type: ignore[union-attr]


def test_without_json_a_person_reads_values_reasons_and_notes(photo: Path) -> None:
    code, out, err = call("measure", photo)
    assert (code, err) == (0, "")
    assert "doll.jpg: 800 × 600 pixels, 12 points, head direction 84° ± 8°" in out
    assert "mouth_opening    –  No scale is known" in out
    assert "No hip: hidden." in out
    assert "not a diagnosis" in out


def test_some_bad_photos_are_reported_on_their_line_while_the_rest_go_on(photo: Path, bad_photo: Path) -> None:
    code, out, err = call("measure", bad_photo, photo, bad_photo.parent / "none.jpg", "--json")
    first, second, third = (strict(line) for line in out.splitlines())
    assert code == 1
    assert set(first) == set(third) == {"photo", "error"}
    assert (first["photo"], second["photo"], third["photo"]) == ("letter.jpg", "doll.jpg", "none.jpg")
    assert "plain text" in first["error"]
    assert "cannot be read" in third["error"]
    assert err == "2 of 3 photos could not be measured.\n"


def test_several_bad_photos_are_named_for_people_too(bad_photo: Path) -> None:
    code, out, _ = call("measure", bad_photo, bad_photo)
    assert code == 1
    assert [line.split(":")[0] for line in out.splitlines()] == ["letter.jpg", "letter.jpg"]


def test_the_only_photo_being_bad_is_exit_2_with_one_sentence(bad_photo: Path) -> None:
    code, out, err = call("measure", bad_photo, "--json")
    assert (code, out) == (2, "")
    assert_one_sentence(err)
    assert "letter.jpg" in err


USAGE = [
    [],
    ["weigh"],
    ["measure"],
    ["measure", "PHOTO", "--box", "1,2,3"],
    ["measure", "PHOTO", "--box", "1,2,3,x"],
    ["measure", "PHOTO", "--box", "1,2,0,5"],
    ["measure", "PHOTO", "--box", "1,2,nan,5"],
    ["measure", "PHOTO", "--frobnicate"],
    ["measure", "PHOTO", "PHOTO", "--landmarks", "POINTS"],
    ["measure", "PHOTO", "--landmarks", "POINTS", "--box", "1,2,3,4"],
    ["measure", "PHOTO", "--landmarks", "none.json"],
    ["measure", "PHOTO", "--landmarks", "PHOTO"],
    ["measure", "PHOTO", "--overlay", "PHOTO"],
]


@pytest.mark.parametrize("arguments", USAGE, ids=" ".join)
def test_wrong_usage_is_exit_2_with_one_sentence(arguments: list[str], photo: Path, points: Path) -> None:
    code, out, err = call(*({"PHOTO": photo, "POINTS": points}.get(word, word) for word in arguments))
    assert (code, out) == (2, "")
    assert_one_sentence(err)


def test_a_point_outside_the_photo_is_refused_by_name(tmp_path: Path, points: Path) -> None:
    small = tmp_path / "small.png"
    small.write_bytes(encode_png(doll_photo(400, 300)))
    code, _, err = call("measure", small, "--landmarks", points)
    assert code == 2
    assert_one_sentence(err)
    assert "lies outside the photo of 400 × 300 pixels" in err


def test_a_box_outside_the_photo_is_refused(photo: Path) -> None:
    code, _, err = call("measure", photo, "--box", "900,0,10,10")
    assert code == 2
    assert_one_sentence(err)


def test_a_machine_without_models_ends_in_one_sentence(photo: Path) -> None:
    class Missing:
        def detect(self, pixels: Any, box: Box | None) -> Detection:  # noqa: ARG002
            raise ModelUnavailable("No landmarks can be proposed here: a library is missing.")

    code, _, err = call("measure", photo, photo, detector=Missing())
    assert code == 2
    assert_one_sentence(err)


def test_overlays_are_written_without_metadata_and_none_is_lost(photo: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "other"
    elsewhere.mkdir()
    twin = elsewhere / "doll.png"
    twin.write_bytes(encode_png(doll_photo(800, 600)))
    folder = tmp_path / "new" / "overlays"
    assert call("measure", photo, twin, "--overlay", folder)[0] == 0
    assert sorted(path.name for path in folder.iterdir()) == ["doll-2.overlay.jpg", "doll.overlay.jpg"]
    written = (folder / "doll.overlay.jpg").read_bytes()
    assert read_photo(written).width == 800
    assert {marker for marker, _ in files.jpeg_segments(written)} <= {0xE0, 0xDB, 0xC0, 0xC4, 0xDA}


SCRIPT = """
import pathlib, re, runpy, sys
sys.argv = ["vision", *sys.argv[1:]]
try:
    runpy.run_module("vision", run_name="__main__")
except SystemExit as end:
    heavy = [name for name in ("mediapipe", "streamlit", "sqlalchemy", "tensorflow", "jax", "matplotlib") if name in sys.modules]
    # Not ru_maxrss: that one starts with the memory of the process that forked this one, which is the whole test run.
    peak_mb = int(re.search(r"VmHWM:\\s+(\\d+) kB", pathlib.Path("/proc/self/status").read_text())[1]) // 1024
    print(end.code, peak_mb, ",".join(heavy) or "none", file=sys.stderr)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="peak memory is read from Linux's /proc")
def test_given_landmarks_load_no_model_and_little_memory(points: Path, tmp_path: Path) -> None:
    """A 12-megapixel photo in a process of its own; 700 MB is the limit with models, which this run does without."""
    large = tmp_path / "large.jpg"
    large.write_bytes(encode_jpeg(doll_photo(4000, 3000), quality=90))
    command = [sys.executable, "-c", SCRIPT, "measure", str(large), "--landmarks", str(points), "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=PROJECT)
    code, peak_mb, heavy = done.stderr.split()
    assert (code, heavy) == ("0", "none")
    assert int(peak_mb) < 400
    assert strict(done.stdout)["width"] == 4000


def test_the_module_runs_as_a_command_and_gives_its_exit_code(bad_photo: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "vision", "measure", str(bad_photo)],
        capture_output=True,
        text=True,
        check=False,
        cwd=PROJECT,
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert_one_sentence(done.stderr)


def test_a_reader_that_has_had_enough_gets_no_traceback() -> None:
    # Two processes of one shell: the reader ends before the first line is written.
    command = f"(sleep 0.5; {sys.executable} -u -m vision measure sample_images/cradle_side.jpg) | true"
    with subprocess.Popen(command, cwd=PROJECT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, shell=True) as process:
        assert process.stderr is not None
        assert b"Error" not in process.stderr.read()
