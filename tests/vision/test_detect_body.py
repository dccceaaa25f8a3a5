"""Whose face and body are taken, and what is said of a body."""

from collections.abc import Callable

import numpy as np
import pytest
from scripted_models import ScriptedModels, head_mesh

from vision.detect import Box, Detection
from vision.detectors import face_mesh, face_reading, mediapipe_detector, pose
from vision.detectors.mediapipe_detector import MediaPipeDetector
from vision.detectors.turned_copies import Square
from vision.landmarks import BodyView

PHOTO = np.zeros((640, 640, 3), np.uint8)
WHOLE = Box(x=0, y=0, width=640, height=640)


def body(*, shoulders_apart: float = 20.0, visibility: float = 1.0, left_nearer: bool = True) -> np.ndarray:
    """A pose in a picture 640 px wide, its trunk 240 px long, as the model answers."""
    rows = np.zeros((33, 4))
    rows[:, 3] = visibility
    near, far = (-50.0, 50.0) if left_nearer else (50.0, -50.0)
    rows[0, :3] = (320, 150, 0)
    for left, y, half in ((7, 140, 20), (11, 240, shoulders_apart / 2), (23, 480, 15)):
        rows[left, :3] = (320 + half, y, near)
        rows[left + 1, :3] = (320 - half, y, far)
    return rows


def seen_by_copies(rows: np.ndarray, shift: float = 0.0) -> list[Callable[[int], np.ndarray]]:
    """Answers for the copies of a square that is the whole photo; the second copy's places are shifted."""
    answers: list[Callable[[int], np.ndarray]] = []
    for number, turn in enumerate(pose.TURNS):
        matrix = turn.matrix(mediapipe_detector.LOOK_SIZE)
        copy = rows.copy()
        copy[:, :2] = (rows[:, :2] + [shift * number, 0.0]) @ matrix[:, :2].T + matrix[:, 2]
        if turn.mirrored:
            for left in (7, 11, 23):
                copy[[left, left + 1]] = copy[[left + 1, left]]
        answers.append(lambda _width, copy=copy: copy)
    return answers


def read(rows: np.ndarray, shift: float = 0.0) -> tuple[pose.BodyReading, Detection]:
    models = ScriptedModels(pose_answers=seen_by_copies(rows, shift))
    reading = pose.take_reading(models, PHOTO, Square(left=0, top=0, side=640))
    assert reading is not None
    return reading, pose.read_body(reading)


@pytest.mark.parametrize(("left_nearer", "x"), [(True, 330), (False, 310)])
def test_the_body_points_are_those_of_the_side_towards_the_camera(left_nearer: bool, x: float) -> None:
    _, found = read(body(left_nearer=left_nearer))
    assert found.landmarks.points["shoulder"].x == pytest.approx(x)
    assert found.landmarks.points["shoulder"].by == "mediapipe_pose"


def test_body_points_carry_the_large_sigma_that_was_measured() -> None:
    _, found = read(body())
    # The trunk is 2.4 face sizes long: 240 px make a face of 100 px.
    for name, share in {"ear": 0.38, "shoulder": 0.26, "hip": 0.28}.items():
        assert found.landmarks.points[name].sigma == pytest.approx(share * 100)
    assert pose.CHECK_BODY in found.notes


def test_what_the_model_does_not_see_is_left_out_and_named() -> None:
    rows = body()
    rows[23:25, 3] = 0.4
    _, found = read(rows)
    assert set(found.landmarks.points) == {"ear", "shoulder"}
    assert any("hip" in note for note in found.notes)


def test_copies_that_disagree_give_no_body_and_say_so() -> None:
    _, found = read(body(), shift=120)
    assert not found.landmarks.points
    assert found.notes == (pose.NO_BODY,)


@pytest.mark.parametrize(
    ("shoulders_apart", "view"), [(160, BodyView.TURNED), (20, BodyView.UNKNOWN), (90, BodyView.UNKNOWN)]
)
def test_only_broad_shoulders_are_called_a_turned_body(shoulders_apart: float, view: BodyView) -> None:
    _, found = read(body(shoulders_apart=shoulders_apart))
    assert found.landmarks.body_view == view


def test_without_a_box_and_a_face_nobodys_body_is_proposed() -> None:
    models = ScriptedModels(pose_answers=seen_by_copies(body()))
    found = MediaPipeDetector(models).detect(PHOTO, None)
    assert not found.landmarks.points
    assert set(found.notes) == {mediapipe_detector.NO_FACE, mediapipe_detector.WHOSE_BODY}
    assert "pose" not in models.asked


def test_a_body_whose_head_lies_outside_the_box_is_not_proposed() -> None:
    rows = body()
    rows[:, 0] += 280
    box = Box(x=0, y=100, width=500, height=500)
    side = 500 * mediapipe_detector.BOX_MARGINS[0]
    on_cut = rows.copy()
    on_cut[:, :2] = (rows[:, :2] - [250 - side / 2, 350 - side / 2]) * mediapipe_detector.LOOK_SIZE / side
    found = MediaPipeDetector(ScriptedModels(pose_answers=seen_by_copies(on_cut))).detect(PHOTO, box)
    assert not found.landmarks.points
    assert pose.NO_BODY in found.notes


def test_a_head_that_stays_upright_in_turned_copies_is_not_believed() -> None:
    mesh = head_mesh(yaw_deg=0, x=320, y=320, face_px=100)
    place = np.array([mesh[:, :2].min(axis=0), mesh[:, :2].max(axis=0)])
    square = Square.around(place, face_reading.CUT_MARGIN)
    on_cut = (mesh - [square.left, square.top, 0]) * face_reading.CUT_SIZE / square.side
    models = ScriptedModels(places=[place], face_answers=[lambda _width: [on_cut]] * len(face_reading.TURNS))
    found = MediaPipeDetector(models).detect(PHOTO, None)
    assert not found.landmarks.points
    assert face_mesh.UNSURE in found.notes
    assert mediapipe_detector.WHOSE_FACE not in found.notes


def test_a_box_with_no_face_in_it_says_so() -> None:
    found = MediaPipeDetector(ScriptedModels()).detect(PHOTO, WHOLE)
    assert not found.landmarks.points
    assert set(found.notes) == {mediapipe_detector.NO_FACE_IN_BOX, pose.NO_BODY}
