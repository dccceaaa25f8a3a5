"""Cutting, turning and mirroring a picture, and the way back."""

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vision.detectors.turned_copies import Square, Turn, back, cut, turned

TURNS = [Turn(), Turn(deg=90), Turn(deg=18), Turn(mirrored=True), Turn(deg=-25, mirrored=True)]


def dot_in(pixels: np.ndarray) -> np.ndarray:
    """The middle of the bright spot, in the frame that counts from the corner of the first pixel."""
    weight = pixels[:, :, 0].astype(float)
    rows, columns = np.indices(weight.shape)
    return np.array([(columns + 0.5).ravel() @ weight.ravel(), (rows + 0.5).ravel() @ weight.ravel()]) / weight.sum()


def photo_with_dot(x: float, y: float, size: tuple[int, int] = (400, 300)) -> np.ndarray:
    rows, columns = np.indices((size[1], size[0]))
    spot = 255 * np.exp(-((columns + 0.5 - x) ** 2 + (rows + 0.5 - y) ** 2) / (2 * 6.0**2))
    return np.repeat(spot[:, :, None], 3, axis=2).astype(np.uint8)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize(
    ("square", "size"),
    [
        (Square(left=100, top=50, side=200), 200),
        (Square(left=60.4, top=20.7, side=251.3), 100),
        (Square(left=150, top=80, side=90), 240),
        (Square(left=-80, top=-40, side=460), 230),
    ],
)
def test_a_spot_found_in_a_turned_copy_lies_where_the_photo_has_it(turn: Turn, square: Square, size: int) -> None:
    photo = photo_with_dot(190.0, 120.0)
    found = dot_in(turned(cut(photo, square, size), turn))
    there = back(np.array([[*found, 7.0]]), turn, square, size)[0]
    assert there[:2] == pytest.approx([190.0, 120.0], abs=0.35 * max(1.0, square.side / size))
    assert there[2] == pytest.approx(7.0 * square.side / size)


def test_a_square_beyond_the_photo_is_black_and_of_the_right_size() -> None:
    picture = cut(photo_with_dot(10, 10), Square(left=5000, top=0, side=64), 32)
    assert picture.shape == (32, 32, 3)
    assert not picture.any()


def test_a_positive_turn_is_clockwise_as_opencv_turns_pictures() -> None:
    photo = photo_with_dot(150, 60, (200, 200))
    ours = turned(photo, Turn(deg=90))
    assert np.abs(ours.astype(int) - cv2.rotate(photo, cv2.ROTATE_90_CLOCKWISE).astype(int)).max() <= 2


@given(
    deg=st.floats(-180, 180),
    mirrored=st.booleans(),
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
    side=st.floats(10, 4000),
)
def test_the_way_back_undoes_the_turn(deg: float, mirrored: bool, x: float, y: float, side: float) -> None:
    turn, square, size = Turn(deg=deg, mirrored=mirrored), Square(left=30, top=-12, side=side), 256
    on_copy = turn.matrix(size) @ np.array([(x - square.left) * size / side, (y - square.top) * size / side, 1.0])
    assert back(on_copy[None], turn, square, size)[0] == pytest.approx([x, y], abs=1e-6 * max(1, side))
