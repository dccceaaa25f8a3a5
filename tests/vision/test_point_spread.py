"""Several people's points of one photo: how far apart, in percent of the face, and whether that is more than clicking."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vision.landmarks import LandmarkSet, Point, Visibility
from vision.point_spread import point_spreads
from vision.quantities.default_sigmas import with_default_sigmas

FACE = {"nose_tip": (100.0, 0.0), "ear": (0.0, 0.0), "chin": (80.0, 60.0), "mouth_corner": (85.0, 35.0)}


def placed(moved: dict[str, tuple[float, float]] | None = None, *, hidden: bool = False) -> LandmarkSet:
    seen = Visibility.HIDDEN if hidden else Visibility.SEEN
    at = {**FACE, **(moved or {})}
    return LandmarkSet(points={name: Point(x=x, y=y, visibility=seen) for name, (x, y) in at.items()})


def by_name(*sets: LandmarkSet):
    return {one.landmark: one for one in point_spreads(sets)}


def test_the_distance_is_the_largest_between_two_and_in_percent_of_the_face() -> None:
    found = by_name(placed(), placed({"chin": (83.0, 64.0)}), placed({"chin": (74.0, 52.0)}))
    assert found["chin"].n == 3
    assert found["chin"].apart_px == pytest.approx(15.0)  # 9 across, 12 down
    size = found["chin"].apart_px / found["chin"].apart_percent * 100
    assert size == pytest.approx(100, rel=0.1)  # nose to ear is 100 pixels, nearly from the side
    assert found["nose_tip"].apart_px == 0.0


def test_what_one_alone_placed_is_not_compared() -> None:
    assert point_spreads([placed()]) == ()
    assert "hip" not in by_name(placed({"hip": (900.0, 900.0)}), placed())


def test_without_a_face_the_distance_is_in_pixels_only() -> None:
    one, other = (LandmarkSet(points={"chin": Point(x=x, y=0), "hip": Point(x=500, y=0)}) for x in (0.0, 4.0))
    spread = by_name(one, other)["chin"]
    assert (spread.apart_px, spread.apart_percent) == (4.0, None)


def test_careful_clicks_part_in_about_one_of_a_hundred_pairs() -> None:
    """Clicks drawn with the default sigma of each landmark; the rule says 1 in 100."""
    rng = np.random.default_rng(6)
    sigmas = {name: point.sigma for name, point in with_default_sigmas(placed()).points.items()}

    def clicked() -> LandmarkSet:
        return placed({name: tuple(np.array(at) + rng.normal(0, sigmas[name], 2)) for name, at in FACE.items()})

    said = [one.parts for _ in range(1500) for one in point_spreads([clicked(), clicked()])]
    assert 0.004 < np.mean(said) < 0.02


def test_a_point_far_off_parts_and_a_hidden_one_has_twice_the_room() -> None:
    for distance, seen, hidden in ((6.0, False, False), (12.0, True, False), (30.0, True, True)):
        moved = {"chin": (80.0 + distance, 60.0)}
        assert by_name(placed(), placed(moved))["chin"].parts is seen
        assert by_name(placed(hidden=True), placed(moved, hidden=True))["chin"].parts is hidden


@given(scale=st.floats(0.2, 20), turn=st.floats(0, 6.3), dx=st.floats(-500, 500))
def test_percent_and_parting_do_not_change_when_the_photo_is_moved_turned_or_scaled(
    scale: float, turn: float, dx: float
) -> None:
    def changed(landmarks: LandmarkSet) -> LandmarkSet:
        way = scale * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        moved = {name: tuple(way @ (point.x, point.y) + dx) for name, point in landmarks.points.items()}
        return placed(moved)

    before = by_name(placed(), placed({"chin": (92.0, 66.0)}))
    after = by_name(changed(placed()), changed(placed({"chin": (92.0, 66.0)})))
    assert after["chin"].parts is before["chin"].parts is True
    assert after["chin"].apart_percent == pytest.approx(before["chin"].apart_percent, rel=1e-6)
