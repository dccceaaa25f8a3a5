"""The shipped detector on a real photo: the portrait of an astronaut that scikit-image carries (NASA, public domain)."""

import socket
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from math import hypot

import cv2
import numpy as np
import pytest

from vision.detect import Box, Detection, Detector
from vision.detectors.mediapipe_detector import MediaPipeDetector
from vision.landmarks import LandmarkSet
from vision.mediapipe_models import MediaPipeModels

#: Read off the picture by eye, six times enlarged, before anything was detected: (x, y) in its 512 × 512 pixels.
BY_EYE = {
    "nose_tip": (225.0, 127.5),
    "upper_lip_edge": (223.3, 142.5),
    "lower_lip_edge": (221.7, 148.7),
    "chin": (222.0, 171.0),
}
CORNERS_BY_EYE = {"right": (203.7, 140.5), "left": (245.8, 141.2)}
#: 5 px are 7 % of her face size of about 73 px. From the front the eye finds the chin's most forward point less surely.
TOLERANCE_PX = 5.0
TOLERANCES_PX = {"chin": 8.0}


@pytest.fixture(scope="module")
def detector() -> Iterator[Detector]:
    models = MediaPipeModels()
    yield MediaPipeDetector(models)
    models.close()


@pytest.fixture(scope="module")
def portrait() -> np.ndarray:
    data = pytest.importorskip("skimage.data", reason="scikit-image carries the photo")
    return np.asarray(data.astronaut())


def turned_photo(pixels: np.ndarray, deg: float) -> tuple[np.ndarray, np.ndarray]:
    """The photo turned clockwise about its middle, and the 2 × 3 matrix from places in it to places in the photo."""
    middle = (pixels.shape[1] / 2, pixels.shape[0] / 2)
    there = cv2.getRotationMatrix2D((middle[0] - 0.5, middle[1] - 0.5), -deg, 1.0)
    picture = cv2.warpAffine(pixels, there, pixels.shape[1::-1], borderValue=(180, 180, 180))
    return picture, cv2.getRotationMatrix2D(middle, deg, 1.0)


def assert_near(landmarks: LandmarkSet, truth: dict[str, tuple[float, float]]) -> None:
    for name, (x, y) in truth.items():
        point = landmarks.points[name]
        tolerance = TOLERANCES_PX.get(name, TOLERANCE_PX)
        assert hypot(point.x - x, point.y - y) <= tolerance, f"{name}: {point} instead of {x}, {y}"


def turned_back(landmarks: LandmarkSet, to_photo: np.ndarray) -> LandmarkSet:
    """The points of a turned photo as points of the photo."""
    places = {name: to_photo @ (point.x, point.y, 1.0) for name, point in landmarks.points.items()}
    return landmarks.with_points(
        {name: replace(landmarks.points[name], x=float(x), y=float(y)) for name, (x, y) in places.items()}
    )


def test_the_points_of_a_face_lie_where_the_eye_puts_them(detector: Detector, portrait: np.ndarray) -> None:
    found = detector.detect(portrait, None)
    assert_near(found.landmarks, BY_EYE)
    corner = found.landmarks.points["mouth_corner"]
    assert min(hypot(corner.x - x, corner.y - y) for x, y in CORNERS_BY_EYE.values()) <= TOLERANCE_PX
    assert all(point.sigma is not None for point in found.landmarks.points.values())
    assert found.landmarks.head_yaw is not None
    # She looks into the camera.
    assert found.landmarks.head_yaw.deg < 12


def test_what_the_eye_reads_lies_within_three_sigma(detector: Detector, portrait: np.ndarray) -> None:
    found = detector.detect(portrait, None).landmarks.points
    for name, (x, y) in BY_EYE.items():
        sigma = found[name].sigma
        assert sigma is not None
        assert hypot(found[name].x - x, found[name].y - y) <= 3 * sigma


@pytest.mark.parametrize("deg", [-30, 30])
def test_the_points_of_a_turned_photo_are_the_photos_points_turned(
    detector: Detector, portrait: np.ndarray, deg: float
) -> None:
    picture, to_photo = turned_photo(portrait, deg)
    assert_near(turned_back(detector.detect(picture, None).landmarks, to_photo), BY_EYE)


@pytest.mark.parametrize("deg", [60, 90, 120, 150, 170, 180, 190, 210, 240, 270, 300])
@pytest.mark.parametrize("scale", [1.0, 0.6])
def test_a_strongly_turned_photo_gives_right_points_or_none(
    detector: Detector, portrait: np.ndarray, deg: float, scale: float
) -> None:
    picture, to_photo = turned_photo(cv2.resize(portrait, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), deg)
    found = detector.detect(picture, None)
    there = turned_back(found.landmarks, to_photo)
    assert_near(there, {name: (scale * x, scale * y) for name, (x, y) in BY_EYE.items() if name in there.points})
    assert there.points or found.notes


def test_mirroring_the_photo_mirrors_the_points(detector: Detector, portrait: np.ndarray) -> None:
    found = detector.detect(np.ascontiguousarray(portrait[:, ::-1]), None).landmarks
    mirrored = {name: (portrait.shape[1] - x, y) for name, (x, y) in BY_EYE.items()}
    assert_near(found, mirrored)


def montage(portrait: np.ndarray) -> np.ndarray:
    """The portrait, and beside it once more at 0.6 of its size with its corner at (512, 100)."""
    picture = np.full((512, 900, 3), 180, np.uint8)
    picture[:, :512] = portrait
    small = cv2.resize(portrait, None, fx=0.6, fy=0.6, interpolation=cv2.INTER_AREA)
    picture[100 : 100 + small.shape[0], 512 : 512 + small.shape[1]] = small
    return picture


SMALL_BY_EYE = {name: (512 + 0.6 * x, 100 + 0.6 * y) for name, (x, y) in BY_EYE.items()}


def test_of_two_faces_the_smaller_one_is_taken_and_a_note_says_so(detector: Detector, portrait: np.ndarray) -> None:
    found = detector.detect(montage(portrait), None)
    assert_near(found.landmarks, SMALL_BY_EYE)
    assert any("smallest face" in note for note in found.notes)


@pytest.mark.parametrize(
    ("box", "truth"),
    [
        (Box(x=120, y=0, width=200, height=220), BY_EYE),
        (Box(x=0, y=0, width=512, height=512), BY_EYE),
        (Box(x=570, y=100, width=160, height=140), SMALL_BY_EYE),
    ],
)
def test_of_two_faces_the_one_in_the_box_is_taken(
    detector: Detector, portrait: np.ndarray, box: Box, truth: dict[str, tuple[float, float]]
) -> None:
    found = detector.detect(montage(portrait), box)
    assert_near(found.landmarks, truth)
    assert not any("smallest face" in note for note in found.notes)


def test_a_box_around_nobody_gives_no_points(detector: Detector, portrait: np.ndarray) -> None:
    found = detector.detect(portrait, Box(x=350, y=20, width=150, height=150))
    assert not found.landmarks.points
    assert found.notes


def noise(seed: int) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 256, (480, 640, 3), dtype=np.uint8)


def blobs(seed: int) -> np.ndarray:
    coarse = np.random.default_rng(seed).integers(0, 256, (12, 16, 3), dtype=np.uint8)
    return np.asarray(cv2.resize(coarse, (640, 480), interpolation=cv2.INTER_CUBIC))


@pytest.mark.parametrize("pixels", [np.full((480, 640, 3), 127, np.uint8), noise(1), noise(2), blobs(3), blobs(4)])
@pytest.mark.parametrize("box", [None, Box(x=100, y=100, width=300, height=300)])
def test_a_picture_of_nobody_gives_no_points_and_a_reason(
    detector: Detector, pixels: np.ndarray, box: Box | None
) -> None:
    found = detector.detect(pixels, box)
    assert not found.landmarks.points
    assert found.landmarks.head_yaw is None
    assert found.notes


def test_a_cat_is_not_taken_for_a_baby(detector: Detector) -> None:
    data = pytest.importorskip("skimage.data", reason="scikit-image carries the photo")
    found = detector.detect(np.asarray(data.chelsea()), None)
    assert not found.landmarks.points


def test_the_same_photo_gives_the_same_points_from_several_threads(detector: Detector, portrait: np.ndarray) -> None:
    other = np.ascontiguousarray(portrait[:, ::-1])
    alone: list[Detection] = [detector.detect(portrait, None), detector.detect(other, None)]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda number: detector.detect((portrait, other)[number % 2], None), range(8)))
    assert together == alone * 4


def test_nothing_is_asked_of_a_network(portrait: np.ndarray, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_arguments: object) -> None:
        raise AssertionError("a connection was opened")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    models = MediaPipeModels()
    assert MediaPipeDetector(models).detect(portrait, None).landmarks.points
    models.close()


@pytest.mark.parametrize(("missing", "says"), [("mediapipe", "mediapipe"), ("cv2", "pip install")])
def test_a_missing_library_ends_in_one_sentence(missing: str, says: str) -> None:
    program = f"""
import sys
sys.modules[{missing!r}] = None
import numpy as np
from vision.detect import default_detector
from vision.errors import ModelUnavailable
try:
    print(default_detector().detect(np.zeros((64, 64, 3), np.uint8), None).notes[-1])
except ModelUnavailable as error:
    print(error)
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=120)
    assert ran.returncode == 0, ran.stderr
    assert says in ran.stdout
    assert len(ran.stdout.strip().splitlines()) == 1


def test_a_missing_system_library_names_the_line_that_installs_it() -> None:
    program = """
import sys
class NoGl:
    def find_spec(self, name, path=None, target=None):
        if name == "mediapipe":
            raise ImportError("libGL.so.1: cannot open shared object file: No such file or directory")
sys.meta_path.insert(0, NoGl())
import numpy as np
from vision.detect import default_detector
from vision.errors import ModelUnavailable
try:
    print(default_detector().detect(np.zeros((64, 64, 3), np.uint8), None).notes[-1])
except ModelUnavailable as error:
    print(error)
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=120)
    assert "apt-get install --no-install-recommends libgl1 libglib2.0-0" in ran.stdout, ran.stderr


def test_the_models_say_nothing_on_the_terminal() -> None:
    pytest.importorskip("skimage.data", reason="scikit-image carries the photo")
    program = """
import skimage.data
from vision.detect import default_detector
print(len(default_detector().detect(skimage.data.astronaut(), None).landmarks.points))
"""
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=120)
    assert int(ran.stdout) > 4
    assert ran.stderr == ""
