"""Faces that must not be shown are proposed, at any turn, and the measured one is not.

The adult is the portrait that scikit-image carries (NASA, public domain), laid on rendered doll photos; nothing of it
is kept. The other adult is a render, half outside the shipped photo.
"""

from dataclasses import dataclass
from functools import cache
from math import hypot
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from skimage import data

from vision.cover import CHECK, SMALLEST_KEPT, CoverArea, CoverKind, baby_detector, face_finder, propose_covers
from vision.covering.faces import find_faces
from vision.detect import Box, ElseDetector, FixedDetector, default_detector
from vision.detectors.several import MergedDetector
from vision.images import read_photo
from vision.landmarks import LandmarkSet, Point
from vision.photo import Photo
from vision.profile_net import ProfileDetector

SAMPLES = Path(__file__).resolve().parents[2] / "sample_images"
NOBODY = FixedDetector(points={})


@cache
def sample(name: str) -> Photo:
    return read_photo((SAMPLES / f"{name}.jpg").read_bytes())


def with_adult(photo: Photo, *, x: int, y: int, size: int, turn_deg: float) -> Photo:
    """The portrait's head in a square whose middle is (x, y)."""
    head = cv2.resize(data.astronaut()[0:230, 110:340], (size, size), interpolation=cv2.INTER_AREA)
    turn = cv2.getRotationMatrix2D((size / 2, size / 2), -turn_deg, 1.0)
    pixels = photo.pixels.copy()
    pixels[y - size // 2 : y - size // 2 + size, x - size // 2 : x - size // 2 + size] = cv2.warpAffine(
        head, turn, (size, size)
    )
    return Photo(pixels=pixels)


def over(area: CoverArea, x: float, y: float) -> bool:
    return bool(cv2.pointPolygonTest(area.outline().astype(np.float32), (x, y), False) >= 0)


@pytest.mark.parametrize("turn_deg", [0, 75, 160, 215, 305])
def test_an_adults_face_is_proposed_at_any_turn_and_the_dolls_is_not(turn_deg: float) -> None:
    doll = sample("under_arm_side")
    photo = with_adult(doll, x=1080, y=200, size=300, turn_deg=turn_deg)
    (area,) = propose_covers(photo, box=Box(x=330, y=200, width=320, height=340), detector=NOBODY).areas
    # Eyes, nose and mouth of the portrait, read off by eye: (113, 65) is its nose in the head's 230 pixels.
    for px, py in ((92, 80), (125, 72), (113, 102), (112, 128)):
        dx, dy = (px - 115) * 300 / 230, (py - 115) * 300 / 230
        c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
        assert over(area, 1080 + dx * c - dy * s, 200 + dx * s + dy * c)
    assert area.kind == CoverKind.FACE
    assert not over(area, 573, 296)


def test_an_adults_face_that_is_half_outside_the_photo_is_proposed_without_a_hint() -> None:
    (area,) = propose_covers(sample("laid_back_face_in_frame")).areas
    # Eye, nose, mouth and chin of the adult, read off the picture by eye.
    assert all(over(area, x, y) for x, y in ((1145, 265), (1115, 330), (1165, 382), (1195, 425)))
    assert not over(area, 708, 439), "the doll's nose"


@pytest.mark.parametrize("name", ["before_front", "cradle_side", "laid_back_turned_picture", "side_lying_top"])
def test_the_measured_face_alone_in_the_photo_is_never_proposed(name: str) -> None:
    assert find_faces(face_finder(), sample(name).pixels), "the finder sees that face"
    assert propose_covers(sample(name)).areas == ()


@dataclass
class FixedFinder:
    """Sees a face in the middle of a picture, that many times and no more."""

    times: int

    def face_places(self, pixels: NDArray[np.uint8]) -> list[NDArray[np.float64]]:
        """One face 60 pixels wide, or none."""
        self.times -= 1
        middle = pixels.shape[0] / 2
        return [np.array([[middle - 30, middle - 30], [middle + 30, middle + 30]])] if self.times >= 0 else []


GREY = Photo(pixels=np.full((400, 400, 3), 128, np.uint8))


def test_what_fewer_than_three_looks_find_is_no_face() -> None:
    assert find_faces(FixedFinder(times=2), GREY.pixels) == ()
    (face,) = find_faces(FixedFinder(times=3), GREY.pixels)
    assert (face.votes, face.x, face.y) == (3, pytest.approx(200), pytest.approx(200))
    # Found at no turn and at turns by 30 and 60 degrees: upright where it is turned back by 30 on average.
    assert face.turn_deg == pytest.approx(-30)


def two_adults() -> Photo:
    """A larger face on the left, a smaller one on the right."""
    grey = Photo(pixels=np.full((700, 1200, 3), 128, np.uint8))
    return with_adult(with_adult(grey, x=300, y=350, size=420, turn_deg=0), x=900, y=350, size=260, turn_deg=0)


def test_without_any_hint_the_smallest_face_stays_and_a_note_says_so() -> None:
    proposals = propose_covers(two_adults(), detector=NOBODY)
    assert [hypot(area.x - 300, area.y - 350) < 100 for area in proposals.areas] == [True]
    assert proposals.notes == (SMALLEST_KEPT, CHECK)


def test_points_say_which_face_is_measured_even_where_it_is_the_larger_one() -> None:
    measured = LandmarkSet(points={"nose_tip": Point(x=300, y=330), "chin": Point(x=300, y=400)})
    proposals = propose_covers(two_adults(), landmarks=measured, detector=NOBODY)
    assert [hypot(area.x - 900, area.y - 350) < 80 for area in proposals.areas] == [True]
    assert proposals.notes == (CHECK,)


def test_the_models_that_propose_points_are_those_that_look_for_faces_and_for_the_baby() -> None:
    """Loaded once; the baby is looked for by the side-view network, which does not take an adult's face for it."""
    shipped = default_detector()
    assert isinstance(shipped, ElseDetector)
    assert isinstance(shipped.first, MergedDetector)
    assert face_finder() is shipped.first.general.models
    assert baby_detector() is shipped.first.side
    assert isinstance(baby_detector(), ProfileDetector)
