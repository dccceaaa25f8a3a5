"""A detector that is asked about the turned photo answers in the photo's own pixels."""

import numpy as np
import pytest
import skimage.data
from hypothesis import given
from hypothesis import strategies as st

from vision.detect import Box, Detection, default_detector
from vision.detectors.quarter_turns import QuarterTurns, quarter_turned
from vision.landmarks import LandmarkSet, Point


class WhiteSpot:
    """Finds a nose where one pixel is white, once the photo is turned so that the spot lies in its top-left quarter."""

    def detect(self, pixels: np.ndarray, box: Box | None) -> Detection:  # noqa: ARG002
        y, x = (int(v[0]) for v in np.nonzero(pixels[..., 0] == 255))
        if x >= pixels.shape[1] / 2 or y >= pixels.shape[0] / 2:
            return Detection(landmarks=LandmarkSet(), notes=("no face",))
        return Detection(landmarks=LandmarkSet(points={"nose_tip": Point(x=x + 0.5, y=y + 0.5, sigma=1, by="spot")}))


@pytest.mark.parametrize(("x", "y"), [(50, 3), (55, 37), (4, 33)])
def test_a_face_in_a_turned_photo_is_told_in_the_photos_own_pixels(x: int, y: int) -> None:
    """Each of the three corners that another turn brings to the top left."""
    photo = np.zeros((40, 60, 3), np.uint8)
    photo[y, x] = 255
    point = QuarterTurns(WhiteSpot()).detect(photo, None).landmarks.points["nose_tip"]
    assert (point.x, point.y, point.by) == (x + 0.5, y + 0.5, "spot")


def test_where_no_turn_shows_a_face_nothing_is_said() -> None:
    photo = np.zeros((40, 60, 3), np.uint8)
    photo[3, 3] = 255  # upright it would be found, but upright was asked before
    assert QuarterTurns(WhiteSpot()).detect(photo, None) == Detection(landmarks=LandmarkSet())


sides = st.floats(1, 50)


@given(st.floats(0, 40), st.floats(0, 40), sides, sides, st.integers(0, 3))
def test_a_box_turned_on_by_what_is_left_of_a_whole_turn_is_the_same(
    x: float, y: float, w: float, h: float, k: int
) -> None:
    box = Box(x=x, y=y, width=w, height=h)
    there = quarter_turned(box, k, 100, 80)
    back = quarter_turned(there, 4 - k, *((100, 80) if k % 2 == 0 else (80, 100)))
    assert (back.x, back.y, back.width, back.height) == pytest.approx((x, y, w, h))


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_a_portrait_is_read_at_every_quarter_turn(quarters: int) -> None:
    """scikit-image's; the nose tip within 2 % of the picture of where the upright photo has it."""
    photo = skimage.data.astronaut()
    upright = default_detector().detect(photo, None).landmarks.points["nose_tip"]
    turned = (
        default_detector().detect(np.ascontiguousarray(np.rot90(photo, quarters)), None).landmarks.points["nose_tip"]
    )
    x, y = turned.x, turned.y
    for _ in range(quarters):  # the photo is square
        x, y = photo.shape[0] - y, x
    assert (x, y) == pytest.approx((upright.x, upright.y), abs=0.02 * photo.shape[0])
