"""The own detector at run time: what it proposes on doll photos, and where it keeps silent."""

import json
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vision.detect import Box
from vision.detectors.profile_answers import NAMES, Reading, together, turn_of
from vision.detectors.profile_crops import CROP_PX, FILL, Frame, Levels, cut
from vision.detectors.profile_search import MODELS
from vision.errors import ModelUnavailable
from vision.landmarks import BodyView
from vision.profile_net import BY, NO_FACE_NOTE, Calibration, ProfileDetector, raw_sigma

SAMPLES = Path(__file__).parents[2] / "sample_images"
#: Weights in git: at most 8 MB.
MOST_BYTES = 8_000_000


@pytest.fixture(scope="module")
def detector() -> ProfileDetector:
    """The shipped one."""
    return ProfileDetector()


def sample(name: str) -> tuple[np.ndarray, dict]:
    """A doll photo (longest edge 800, to save time) and its truth in the photo's pixels."""
    photo = cv2.cvtColor(cv2.imread(str(SAMPLES / f"{name}.jpg")), cv2.COLOR_BGR2RGB)
    truth = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    factor = 800 / max(photo.shape)
    points = {k: (p["x"] * factor, p["y"] * factor) for k, p in truth["landmarks"].items()}
    return cv2.resize(photo, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), {**truth, "points": points}


def face_px(points: dict) -> float:
    """About the face size in a side view."""
    return float(np.hypot(*(np.array(points["nose_tip"]) - points["ear"])))


frames = st.builds(
    Frame,
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
    side=st.floats(5, 5000),
    turn_deg=st.floats(-360, 360),
    mirrored=st.booleans(),
)


@given(frames, st.floats(-1000, 1000), st.floats(-1000, 1000))
def test_a_place_goes_into_a_crop_and_comes_back(frame: Frame, x: float, y: float) -> None:
    """Whatever the turn, size and mirror."""
    place = np.array([[x, y]])
    assert np.allclose(frame.to_photo(frame.to_crop(place)), place, atol=1e-6 * max(1, frame.side))


@given(frames)
def test_directions_keep_their_length_between_crop_and_photo(frame: Frame) -> None:
    """And the crop's up is turned by as much as the frame says."""
    up = frame.direction_to_photo(np.array([0.0, -1.0]))
    assert np.hypot(*up) == pytest.approx(1)
    assert np.cos(np.radians(turn_of(up) - frame.turn_deg)) == pytest.approx(1)


@pytest.mark.parametrize("side", [100.0, 256.0, 700.0])
@pytest.mark.parametrize("mirrored", [False, True])
def test_a_bright_spot_appears_in_the_crop_where_the_frame_says(side: float, mirrored: bool) -> None:
    """Also through the halved copies of the photo that a far look uses."""
    photo = np.zeros((900, 1200, 3), np.uint8)
    photo[396:405, 696:705] = 255
    frame = Frame(x=680, y=410, side=side, turn_deg=70, mirrored=mirrored)
    crop = np.clip(cut(Levels(photo), frame)[..., 0].astype(float) - FILL, 0, None)
    rows, columns = np.indices(crop.shape) + 0.5
    middle = np.array([(columns * crop).sum(), (rows * crop).sum()]) / crop.sum()
    # The square's middle is 700.5, 400.5 from the corner of the first pixel.
    assert np.allclose(middle, frame.to_crop(np.array([700.5, 400.5])), atol=0.5)


def test_what_lies_outside_the_photo_is_filled_with_grey() -> None:
    """With the grey that the networks were trained with."""
    crop = cut(Levels(np.zeros((50, 50, 3), np.uint8)), Frame(x=0, y=0, side=200))
    assert crop.shape == (CROP_PX, CROP_PX, 3)
    assert (crop[:100] == FILL).all()


def a_reading(x: float, b: float, absent: float = 0.0) -> Reading:
    """One copy that puts all points at (x, 0)."""
    return Reading(
        points=np.tile([x, 0.0], (len(NAMES), 1)), b=np.full(len(NAMES), b), spread=np.zeros(len(NAMES)),
        chances=np.tile([absent, 0.0, 1 - absent], (len(NAMES), 1)), yaw_deg=90.0, yaw_b=2.0, yaw_spread=0.0,
        elevation_deg=0.0, trunk_off_deg=0.0, gape_deg=100.0, gape_b=5.0, gape_spread=0.0, up=np.array([0.0, -1.0]),
        face=50.0,
    )  # fmt: skip


def test_copies_that_differ_leave_a_spread_and_the_surer_one_counts_more() -> None:
    """Five that agree outweigh one that does not; its distance shows in the spread."""
    same = together([a_reading(10, 1.0)] * 6)
    apart = together([*[a_reading(10, 1.0)] * 5, a_reading(40, 1.0)])
    assert same.points[0, 0] == pytest.approx(10)
    assert same.spread[0] == pytest.approx(0)
    assert apart.points[0, 0] == pytest.approx(10)
    assert apart.spread[0] > 5
    assert together([a_reading(10, 1.0), a_reading(20, 9.0)]).points[0, 0] == pytest.approx(10, abs=0.6)


def test_a_copy_whose_crop_does_not_hold_a_point_hardly_counts_for_it() -> None:
    """It says itself that the point lies outside."""
    assert together([a_reading(10, 2.0), a_reading(90, 1.0, absent=0.999)]).points[0, 0] == pytest.approx(10, abs=1)


def test_the_gape_that_the_network_reads_is_proposed_where_it_proposes_the_mouth(detector: ProfileDetector) -> None:
    """With the calibrated standard deviation; without a lip there is none."""
    sure = a_reading(300, 1.0)
    read = detector.proposed(sure, 800, 600).landmarks
    assert read.gape is not None
    assert (read.gape.deg, read.gape.by) == (100.0, BY)
    assert read.gape.sigma_deg == pytest.approx(detector.calibration.gape_sigma(sure))
    assert read.counting_gape == read.gape
    unsure = a_reading(300, 60.0)
    assert raw_sigma(unsure, 0) > 0.1 * unsure.face
    assert detector.proposed(unsure, 800, 600).landmarks.gape is None


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_before_the_latch_the_mouth_is_found_at_any_quarter_turn(detector: ProfileDetector, quarters: int) -> None:
    """Within 5 % of the face size of the truth, the yaw within 8 degrees, every point with a standard deviation."""
    photo, truth = sample("before_latch_side")
    height, width = photo.shape[:2]
    turned = np.ascontiguousarray(np.rot90(photo, quarters))
    found = detector.detect(turned, None).landmarks
    for name in ("mouth_corner", "upper_lip_edge", "lower_lip_edge", "nose_tip", "chin", "ear"):
        x, y = truth["points"][name]
        for _ in range(quarters):
            x, y = y, (width if _ % 2 == 0 else height) - x
        point = found.points[name]
        assert np.hypot(point.x - x, point.y - y) < 0.05 * face_px(truth["points"]), name
        assert point.by == BY
        assert point.sigma is not None
        assert point.sigma > 0
    assert found.head_yaw is not None
    assert abs(found.head_yaw.deg - truth["head_yaw_deg"]) < 8


def test_a_mirrored_photo_gives_mirrored_points(detector: ProfileDetector) -> None:
    """Left and right are treated alike."""
    photo, truth = sample("narrow_side")
    found = detector.detect(photo, None).landmarks
    other = detector.detect(np.ascontiguousarray(photo[:, ::-1]), None).landmarks
    for name in ("mouth_corner", "nose_tip", "ear"):
        a, b = found.points[name], other.points[name]
        assert np.hypot(photo.shape[1] - b.x - a.x, b.y - a.y) < 0.04 * face_px(truth["points"])


def test_at_the_breast_the_points_in_sight_lie_within_their_intervals(detector: ProfileDetector) -> None:
    """Four standard deviations of a coordinate: chance hardly goes beyond."""
    photo, truth = sample("cradle_side")
    found = detector.detect(photo, None).landmarks
    assert found.body_view != BodyView.TURNED
    for name in ("mouth_corner", "upper_lip_edge", "nose_tip", "chin", "ear"):
        point, (x, y) = found.points[name], truth["points"][name]
        assert max(abs(point.x - x), abs(point.y - y)) < 4 * (point.sigma or 0), name


def test_a_box_round_the_doll_gives_the_doll_and_a_box_elsewhere_nothing(detector: ProfileDetector) -> None:
    """The box decides."""
    photo, truth = sample("before_latch_side")
    x, y = truth["points"]["ear"]
    size = face_px(truth["points"])
    around = Box(x=x - 2.5 * size, y=y - 2.5 * size, width=5 * size, height=5 * size)
    assert "mouth_corner" in detector.detect(photo, around).landmarks.points
    corner = Box(x=1, y=1, width=size, height=size)
    assert not detector.detect(photo, corner).landmarks.points


def test_pictures_without_a_face_give_no_point_and_say_so(detector: ProfileDetector) -> None:
    """Flat grey, noise, a gradient and stripes."""
    rng = np.random.default_rng(1)
    ramp = np.tile(np.linspace(0, 255, 320, dtype=np.uint8), (240, 1))
    for picture in (
        np.full((240, 320, 3), 120, np.uint8),
        rng.integers(0, 256, (240, 320, 3), dtype=np.uint8),
        np.dstack([ramp] * 3),
        np.dstack([(ramp // 8 % 2 * 200).astype(np.uint8)] * 3),
    ):
        found = detector.detect(picture, None)
        assert not found.landmarks.points
        assert found.landmarks.head_yaw is None
        assert found.notes == (NO_FACE_NOTE,)


def test_a_tiny_picture_is_no_error(detector: ProfileDetector) -> None:
    """One pixel, one row."""
    for shape in ((1, 1, 3), (1, 500, 3)):
        assert not detector.detect(np.zeros(shape, np.uint8), None).landmarks.points


def test_missing_or_broken_model_files_are_said_in_a_sentence(tmp_path: Path) -> None:
    """As the error that the screens show."""
    with pytest.raises(ModelUnavailable, match="profile_finder"):
        ProfileDetector(tmp_path).detect(np.zeros((64, 64, 3), np.uint8), None)
    (tmp_path / "profile_calibration.json").write_text("{}", encoding="utf-8")
    with pytest.raises(ModelUnavailable, match="calibration"):
        Calibration.read(tmp_path / "profile_calibration.json")


@pytest.mark.parametrize("name", ["profile_finder.onnx", "profile_reader.onnx", "profile_calibration.json"])
@pytest.mark.parametrize("share", [0.0, 0.001, 0.5, 0.999])
def test_a_model_file_that_was_cut_off_is_said_in_one_sentence_that_leaves_a_way_on(
    tmp_path: Path, name: str, share: float
) -> None:
    folder = shutil.copytree(MODELS, tmp_path / "models")
    whole = (folder / name).read_bytes()
    (folder / name).write_bytes(whole[: int(share * (len(whole) - 2))])
    with pytest.raises(ModelUnavailable, match="by hand") as caught:
        ProfileDetector(folder).detect(sample("cradle_side")[0], None)
    assert name in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


def test_the_weights_stay_small_and_the_card_stands_beside_them() -> None:
    """At most 8 MB in git, with a card that says what they were trained on and what is unproven."""
    assert sum(path.stat().st_size for path in MODELS.glob("*.onnx")) <= MOST_BYTES
    card = (MODELS / "CARD.md").read_text(encoding="utf-8")
    assert "renders" in card
    assert "unproven" in card
    calibration = Calibration.read(MODELS / "profile_calibration.json")
    assert set(calibration.seen) == set(NAMES) == set(calibration.hidden)
