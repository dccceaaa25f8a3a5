"""What is covered is gone for good: no pixel of it, nor of a margin around it, reaches the picture that is kept."""

from math import cos, radians, sin

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from vision.cover import (
    COVER_COLOUR,
    MARGIN_PX,
    CoverArea,
    CoverKind,
    CoverShape,
    cover,
    hidden_landmarks,
)
from vision.errors import InvalidCover
from vision.images import encode_jpeg, read_photo
from vision.landmarks import LandmarkSet, Point
from vision.photo import Photo

WIDTH, HEIGHT = 120, 96

AREAS = st.builds(
    CoverArea,
    kind=st.sampled_from(CoverKind),
    shape=st.sampled_from(CoverShape),
    x=st.floats(-60, WIDTH + 60),
    y=st.floats(-60, HEIGHT + 60),
    width=st.floats(4, 110),
    height=st.floats(4, 110),
    turn_deg=st.floats(-180, 180),
)
THIN = CoverArea(kind=CoverKind.OTHER, shape=CoverShape.ELLIPSE, x=60.3, y=48.7, width=100, height=4, turn_deg=33)


def within(area: CoverArea, margin: float) -> NDArray[np.bool_]:
    """Which pixels the area or its margin touches, by the area's own formula and not by drawing, shape (HEIGHT, WIDTH).

    A pixel is touched where one of 3 × 3 places of it lies within `margin` of the area. The distance to a rectangle is
    exact; an ellipse is taken as the disc around each of many places on it and as its inside.
    """
    ys, xs = (np.mgrid[0 : 3 * HEIGHT, 0 : 3 * WIDTH] + 0.5) / 3
    c, s = cos(radians(area.turn_deg)), sin(radians(area.turn_deg))
    u, v = (xs - area.x) * c + (ys - area.y) * s, (ys - area.y) * c - (xs - area.x) * s
    a, b = area.width / 2, area.height / 2
    if area.shape == CoverShape.RECTANGLE:
        touched = np.hypot(np.maximum(abs(u) - a, 0), np.maximum(abs(v) - b, 0)) <= margin
    else:
        touched = (u / a) ** 2 + (v / b) ** 2 <= 1
        for angle in np.linspace(0, 2 * np.pi, 24, endpoint=False):
            touched |= (u - a * cos(angle)) ** 2 + (v - b * sin(angle)) ** 2 <= margin**2
    return np.asarray(touched.reshape(HEIGHT, 3, WIDTH, 3).any(axis=(1, 3)))


def noise(seed: int) -> NDArray[np.uint8]:
    return np.random.default_rng(seed).integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)


@given(area=AREAS)
@example(area=THIN)
def test_every_pixel_that_an_area_or_its_margin_touches_is_the_flat_colour(area: CoverArea) -> None:
    covered = cover(Photo(pixels=noise(1)), [area]).photo.pixels
    assert (covered[within(area, MARGIN_PX)] == COVER_COLOUR).all()


@settings(max_examples=60)
@given(areas=st.lists(AREAS, min_size=1, max_size=3), quality=st.sampled_from([60, 88, 95]))
@example(areas=[THIN], quality=95)
def test_two_photos_that_differ_only_below_covers_give_the_same_file(areas: list[CoverArea], quality: int) -> None:
    first, second = noise(2), noise(2)
    below = np.logical_or.reduce([within(area, MARGIN_PX) for area in areas])
    second[below] = noise(3)[below]
    one, other = (cover(Photo(pixels=pixels), areas).photo for pixels in (first, second))
    assert (one.pixels == other.pixels).all()
    assert encode_jpeg(one, quality=quality) == encode_jpeg(other, quality=quality)


@settings(max_examples=60)
@given(area=AREAS, quality=st.integers(40, 95))
@example(area=THIN, quality=60)
def test_two_camera_files_that_differ_only_in_an_area_give_the_same_picture(area: CoverArea, quality: int) -> None:
    first, second = noise(10), noise(10)
    second[within(area, 0)] = noise(11)[within(area, 0)]
    # JPEG with halved colour, as cameras write it: each block of 16 pixels carries what lies anywhere in it.
    read = [read_photo(encode_jpeg(Photo(pixels=pixels), quality=quality)) for pixels in (first, second)]
    one, other = (cover(photo, [area]).photo.pixels for photo in read)
    assert (one == other).all()


@given(area=AREAS)
def test_what_lies_clear_of_an_area_stays_as_it_was(area: CoverArea) -> None:
    before = noise(4)
    after = cover(Photo(pixels=before), [area]).photo.pixels
    clear = ~within(area, MARGIN_PX + 6)
    assert (after[clear] == before[clear]).all()


def test_the_photo_that_was_given_is_not_changed() -> None:
    photo = Photo(pixels=noise(5))
    cover(photo, [THIN])
    assert (photo.pixels == noise(5)).all()


def test_an_area_far_outside_the_photo_changes_nothing() -> None:
    far = CoverArea(kind=CoverKind.OTHER, shape=CoverShape.RECTANGLE, x=9e4, y=-9e4, width=50, height=50)
    assert (cover(Photo(pixels=noise(6)), [far]).photo.pixels == noise(6)).all()


def test_an_area_much_larger_than_the_photo_covers_all_of_it() -> None:
    huge = CoverArea(kind=CoverKind.OTHER, shape=CoverShape.ELLIPSE, x=90, y=70, width=9e4, height=9e4, turn_deg=12)
    assert (cover(Photo(pixels=noise(7)), [huge]).photo.pixels == COVER_COLOUR).all()


BABY = LandmarkSet(points={"nose_tip": Point(x=60, y=60), "chin": Point(x=70, y=80), "hip": Point(x=160, y=120)})


def test_covering_a_landmark_of_the_measured_baby_is_said_in_words() -> None:
    area = CoverArea(kind=CoverKind.FACE, shape=CoverShape.ELLIPSE, x=62, y=66, width=30, height=40)
    covered = cover(Photo(pixels=noise(8)), [area], landmarks=BABY)
    assert covered.hidden == ("nose_tip", "chin")
    assert covered.notes == ("A cover hides the baby's nose tip, chin: what is hidden cannot be measured.",)


def test_a_landmark_below_the_margin_counts_as_hidden_and_one_beyond_it_does_not() -> None:
    def beside(gap: float) -> CoverArea:
        return CoverArea(kind=CoverKind.NAME, shape=CoverShape.RECTANGLE, x=160 - gap - 10, y=120, width=20, height=20)

    assert hidden_landmarks([beside(MARGIN_PX - 1)], BABY) == ("hip",)
    assert hidden_landmarks([beside(MARGIN_PX + 6)], BABY) == ()


@given(area=AREAS)
def test_no_landmark_ever_lies_on_the_flat_colour_without_being_named(area: CoverArea) -> None:
    after = cover(Photo(pixels=noise(12)), [area]).photo.pixels
    ys, xs = np.nonzero((after == COVER_COLOUR).all(axis=2))
    for x, y in list(zip(xs, ys, strict=True))[:: max(1, len(xs) // 40)]:
        for dx, dy in ((0.0, 0.0), (0.99, 0.99)):
            point = LandmarkSet(points={"chin": Point(x=float(x) + dx, y=float(y) + dy)})
            assert hidden_landmarks([area], point) == ("chin",)


def test_covers_that_hide_no_landmark_give_no_note() -> None:
    area = CoverArea(kind=CoverKind.NAME, shape=CoverShape.RECTANGLE, x=20, y=120, width=20, height=10)
    assert cover(Photo(pixels=noise(9)), [area], landmarks=BABY).notes == ()


@pytest.mark.parametrize(
    "wrong",
    [{"x": float("nan")}, {"y": float("inf")}, {"width": 3.9}, {"height": 0}, {"width": 2e5}, {"turn_deg": 181}],
)
def test_an_area_with_a_number_outside_its_range_is_refused(wrong: dict[str, float]) -> None:
    plain = {"x": 10.0, "y": 10.0, "width": 10.0, "height": 10.0, "turn_deg": 0.0}
    with pytest.raises(InvalidCover, match="of an area to cover must lie in"):
        CoverArea(kind=CoverKind.OTHER, shape=CoverShape.RECTANGLE, **{**plain, **wrong})
