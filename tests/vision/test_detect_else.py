"""Which of two detectors answers."""

import numpy as np
import pytest

from vision.detect import Box, Detection, ElseDetector, FixedDetector
from vision.errors import ModelUnavailable
from vision.landmarks import Point

PIXELS = np.zeros((100, 100, 3), np.uint8)
FACE = FixedDetector(points={"nose_tip": Point(x=1, y=1, by="first")})
BODY = FixedDetector(points={"ear": Point(x=2, y=2, by="first")}, notes=("No face was found.",))
SIDE = FixedDetector(points={"nose_tip": Point(x=3, y=3, by="second")})
NOTHING = FixedDetector(points={}, notes=("Place these points by hand.",))


class NeverAsked:
    def detect(self, pixels: np.ndarray, box: Box | None) -> Detection:  # noqa: ARG002
        pytest.fail("the second detector was asked although the first one found a face")


class Broken:
    def detect(self, pixels: np.ndarray, box: Box | None) -> Detection:  # noqa: ARG002
        raise ModelUnavailable("The file of this model is missing.")


def test_a_face_that_the_first_detector_finds_spares_the_second_one() -> None:
    assert ElseDetector(FACE, NeverAsked()).detect(PIXELS, None) == FACE.detect(PIXELS, None)


def test_where_the_first_finds_no_face_the_second_ones_face_is_taken_whole() -> None:
    found = ElseDetector(BODY, SIDE).detect(PIXELS, None)
    assert {name: point.by for name, point in found.landmarks.points.items()} == {"nose_tip": "second"}
    assert found.notes == ()


def test_where_neither_finds_a_face_the_first_ones_points_stay_and_both_say_why() -> None:
    found = ElseDetector(BODY, NOTHING).detect(PIXELS, None)
    assert set(found.landmarks.points) == {"ear"}
    assert found.notes == ("No face was found.", "Place these points by hand.")


def test_a_model_that_cannot_be_loaded_does_not_silence_the_other_one() -> None:
    found = ElseDetector(Broken(), SIDE).detect(PIXELS, None)
    assert set(found.landmarks.points) == {"nose_tip"}
    assert found.notes == ("The file of this model is missing.",)
    found = ElseDetector(BODY, Broken()).detect(PIXELS, None)
    assert set(found.landmarks.points) == {"ear"}
    assert found.notes == ("No face was found.", "The file of this model is missing.")
    assert ElseDetector(FACE, Broken()).detect(PIXELS, None).notes == ()


def test_where_no_model_can_be_loaded_that_is_said_once() -> None:
    with pytest.raises(ModelUnavailable, match="is missing"):
        ElseDetector(Broken(), Broken()).detect(PIXELS, None)
    nested = ElseDetector(ElseDetector(Broken(), NOTHING), Broken()).detect(PIXELS, None)
    assert nested.notes == ("Place these points by hand.", "The file of this model is missing.")
