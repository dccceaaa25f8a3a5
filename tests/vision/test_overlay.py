"""The overlay: a new picture with everything that was measured on it, and a strip that says how sure it is."""

from dataclasses import replace

import numpy as np
import pytest
from doll_drawing import DOLL_POINTS, doll_landmarks, doll_photo

from vision.drawing.footer import wrapped
from vision.drawing.labels import Label, Layout, font_of, label_size, printable
from vision.drawing.strokes import BODY, BREAST, FACE, GROUP_OF, MARKS, MOUTH
from vision.drawing.words import CAUTION, reason_rows, shared_notes, short_words, value_rows
from vision.landmarks import BodyView, LandmarkSet, Point, Scale, Visibility
from vision.measures import Measure, NotMeasurable, measure_all
from vision.overlay import draw_overlay
from vision.photo import Photo


def overlay(photo: Photo, landmarks: LandmarkSet, longest: int = 1600) -> Photo:
    return draw_overlay(photo, landmarks, measure_all(landmarks), longest=longest)


def test_the_photo_that_comes_in_is_left_as_it_is() -> None:
    photo = doll_photo(800, 600)
    before = photo.pixels.copy()
    drawn = overlay(photo, doll_landmarks(0.5))
    assert (photo.pixels == before).all()
    assert not np.shares_memory(photo.pixels, drawn.pixels)


@pytest.mark.parametrize(("width", "height"), [(4000, 3000), (1600, 1200), (640, 480), (300, 225)])
def test_the_photo_is_reduced_to_its_longest_side_and_the_strip_comes_below(width: int, height: int) -> None:
    drawn = overlay(doll_photo(width, height), doll_landmarks(width / 1600), longest=1000)
    assert drawn.width == min(width, 1000)
    assert drawn.height > round(height * drawn.width / width) + 40


def changed_near(before: Photo, after: Photo, x: float, y: float, radius: int = 14) -> float:
    """Share of pixels that differ in a square around a point."""
    rows, columns = slice(int(y) - radius, int(y) + radius), slice(int(x) - radius, int(x) + radius)
    return float((before.pixels[rows, columns] != after.pixels[rows, columns]).any(axis=2).mean())


def test_every_placed_point_is_marked_where_it_lies() -> None:
    photo = doll_photo()
    drawn = overlay(photo, doll_landmarks())
    for name, (x, y) in DOLL_POINTS.items():
        assert changed_near(photo, drawn, x, y) > 0.15, name


def test_the_pixel_under_a_lone_mark_stays_in_sight() -> None:
    photo = doll_photo()
    alone = LandmarkSet(points={"hip": Point(x=360, y=1000)})
    drawn = overlay(photo, alone)
    assert (drawn.pixels[996:1004, 356:364] == photo.pixels[996:1004, 356:364]).all()
    assert changed_near(photo, drawn, 360, 1000) > 0.15


def test_points_of_a_reduced_photo_are_marked_in_its_own_scale() -> None:
    photo = doll_photo(3200, 2400)
    drawn = overlay(photo, LandmarkSet(points={"hip": Point(x=720, y=2000)}), longest=1600)
    plain = draw_overlay(photo, LandmarkSet(), {}, longest=1600)
    assert changed_near(plain, drawn, 360, 1000) > 0.15


def test_nothing_is_drawn_on_a_photo_without_points_but_the_strip_says_why() -> None:
    photo = doll_photo(800, 600)
    drawn = overlay(photo, LandmarkSet())
    assert (drawn.pixels[:600] == photo.pixels).all()
    assert drawn.pixels[600:].max() > 200


@pytest.mark.parametrize("skin", [(244, 216, 200), (201, 150, 116), (120, 76, 54), (52, 34, 28)])
def test_every_line_has_a_bright_and_a_dark_part_so_that_it_shows_on_any_skin(skin: tuple[int, int, int]) -> None:
    """WCAG 2 asks for a contrast of 3 : 1 for graphics: one of the two parts always has it."""

    def luminance(colour: np.ndarray) -> np.ndarray:
        linear = np.where(colour <= 10.31, colour / 255 / 12.92, ((colour / 255 + 0.055) / 1.055) ** 2.4)
        return linear @ [0.2126, 0.7152, 0.0722]

    drawn = overlay(doll_photo(skin=skin), doll_landmarks())
    under = luminance(np.array(skin, dtype=float))
    for x, y in (DOLL_POINTS["ear"], DOLL_POINTS["mouth_corner"]):
        shown = luminance(drawn.pixels[y - 16 : y + 16, x - 16 : x + 16].reshape(-1, 3).astype(float))
        ratios = (np.maximum(shown, under) + 0.05) / (np.minimum(shown, under) + 0.05)
        assert (ratios >= 3).mean() > 0.05


def test_groups_differ_in_shape_and_not_only_in_colour() -> None:
    groups = (MOUTH, FACE, BODY, BREAST, MARKS)
    assert len({group.colour for group in groups}) == len(groups)
    assert len({(group.corners, group.turn_deg) for group in groups}) == len(groups)
    assert set(GROUP_OF) >= set(DOLL_POINTS)


def test_labels_lie_inside_the_picture_and_off_each_other_and_off_the_points() -> None:
    layout = Layout(width=1600, height=1200)
    spots = [complex(*spot) for spot in DOLL_POINTS.values()]
    for spot in spots:
        layout.avoid_point(spot, 10)
    boxes = [
        layout.place(Label(text=name.replace("_", " "), at=spot, size=17, colour=(255, 255, 255)))
        for name, spot in zip(DOLL_POINTS, spots, strict=True)
    ]
    for i, (left, top, right, bottom) in enumerate(boxes):
        assert left >= 0
        assert top >= 0
        assert right <= 1600
        assert bottom <= 1200
        for other in boxes[i + 1 :]:
            wide, high = min(right, other[2]) - max(left, other[0]), min(bottom, other[3]) - max(top, other[1])
            assert wide <= 1 or high <= 1, "two labels overlap"
        assert not any(left < spot.real < right and top < spot.imag < bottom for spot in spots)


def test_a_label_at_the_edge_is_moved_inside() -> None:
    layout = Layout(width=400, height=300)
    left, top, right, bottom = layout.place(Label(text="a long label", at=399 + 299j, size=20, colour=(0, 0, 0)))
    assert 0 <= left < right <= 400
    assert 0 <= top < bottom <= 300


def test_every_letter_of_labels_and_strip_is_in_the_font() -> None:
    """A letter that the font lacks is drawn as its empty box, which is as wide as that of a letter no font has."""
    landmarks = replace(doll_landmarks(), scale=Scale(mm_per_pixel=0.3), head_yaw=None, body_view=BodyView.UNKNOWN)
    turned = measure_all(replace(doll_landmarks(), camera_elevation_deg=-40, body_view=BodyView.TURNED))
    measures = measure_all(landmarks)
    texts = [CAUTION, *shared_notes(measures)]
    texts += [f"{name}{words}" for name, words in [*value_rows(measures), *reason_rows(turned), *reason_rows({})]]
    font = font_of(40.0)
    missing = bytes(font.getmask("\U0001f9ff"))
    letters = {letter for text in [*texts, "äöüÄÖÜß„“éèçñø"] for letter in printable(text)} - {" "}
    assert len(letters) > 30
    assert [letter for letter in letters if bytes(font.getmask(letter)) == missing] == []


def test_values_are_said_with_their_interval() -> None:
    def words(name: str, value: float, low: float, high: float, unit: str, *notes: str) -> str:
        return short_words(Measure(name=name, value=value, low=low, high=high, unit=unit, sd=1, notes=notes))

    assert words("gape_angle", 118.4, 101, 135.2, "deg") == "118° (101° to 135°)"
    assert words("head_deviation", -8.2, -20, 4, "deg") == "8° back (20° back to 4° forward)"
    assert words("head_deviation", 0.2, -4, 4, "deg") == "0° (4° back to 4° forward)"
    assert words("nose_gap", 12, 0, 25, "% of face size") == "12 % of face size (0 % to 25 %)"
    assert words("areola_balance", 0.75, 0.6, 0.9, "share") == "75 % (60 % to 90 %)"
    assert words("mouth_opening", 28.3, 24, 33, "mm") == "28 mm (24 to 33)"


def test_a_touching_chin_reads_touching_or_nearly() -> None:
    near = doll_landmarks().with_points({"breast_at_chin": Point(x=936, y=579)})
    rows = dict(value_rows(measure_all(near)))
    assert rows["Chin to breast"].startswith("touching or nearly, ")
    assert not rows["Nose to breast"].startswith("touching")


def test_measures_without_a_value_share_a_row_where_they_share_the_reason() -> None:
    rows = dict(reason_rows(measure_all(LandmarkSet())))
    assert rows["Body line, Head from the body line"] == "Not placed: ear, shoulder and hip."
    assert "Mouth opening" not in ", ".join(rows), "most photos have no scale, which needs no word"


def test_the_line_offset_stays_in_the_data() -> None:
    assert "offset" not in str([*value_rows(measure_all(doll_landmarks())), *reason_rows(measure_all(LandmarkSet()))])


def test_long_reasons_are_wrapped_and_keep_every_word() -> None:
    reason = "one two three four five six seven eight nine ten " * 8
    lines = wrapped(reason.strip(), 300, 16.0)
    assert " ".join(lines) == reason.strip()
    assert all(font_of(16.0).getlength(line) <= 300 for line in lines)
    assert len(lines) > 5


def test_a_label_grows_with_its_text_and_letters() -> None:
    small, large = (label_size(Label(text="ear", at=0j, size=size, colour=(0, 0, 0))) for size in (10, 30))
    assert large[0] > 2 * small[0]
    assert large[1] > 2 * small[1]


def test_points_that_coincide_or_were_guessed_are_drawn_all_the_same() -> None:
    one = Point(x=500, y=500, visibility=Visibility.HIDDEN)
    landmarks = LandmarkSet(points=dict.fromkeys(DOLL_POINTS, one))
    assert all(
        isinstance(result, NotMeasurable) for name, result in measure_all(landmarks).items() if "gap" not in name
    )
    drawn = overlay(doll_photo(), landmarks)
    assert changed_near(doll_photo(), drawn, 500, 500) > 0.3


def test_points_outside_the_photo_do_not_stop_the_drawing() -> None:
    outside = doll_landmarks().with_points({"hip": Point(x=-300, y=90_000)})
    assert overlay(doll_photo(), outside).width == 1600
