"""A face is believed only where turned copies agree, and then only in views that the model can read."""

from collections.abc import Callable

import numpy as np
import pytest
from scripted_models import ScriptedModels, head_mesh, mirrored_mesh

from vision.detect import Detection
from vision.detectors import face_mesh
from vision.detectors.face_reading import CUT_MARGIN, CUT_SIZE, TURNS, UPSIDE_DOWN, take_reading
from vision.detectors.turned_copies import Square, Turn

PHOTO = np.zeros((600, 800, 3), np.uint8)
FACE_PX = 100.0


def seen_in_copy(mesh: np.ndarray, turn: Turn, around: np.ndarray) -> np.ndarray:
    """Where a perfect model would find the mesh in the turned copy that is cut around another one."""
    square = Square.around(around, CUT_MARGIN)
    on_cut = (mesh - [square.left, square.top, 0.0]) * CUT_SIZE / square.side
    named = mirrored_mesh(on_cut, CUT_SIZE) if turn.mirrored else on_cut
    only_turned = Turn(deg=turn.deg).matrix(CUT_SIZE)
    places = named[:, :2] @ only_turned[:, :2].T + only_turned[:, 2]
    return np.column_stack([places, named[:, 2]])


def detected(mesh: np.ndarray, spoil: Callable[[int, np.ndarray], np.ndarray | None] | None = None) -> Detection:
    """What is made of a face that the copies show at the mesh, or at what `spoil` makes of it for each copy."""
    answers = []
    for number, turn in enumerate(TURNS):
        shown = mesh if spoil is None else spoil(number, mesh)
        copy = [] if shown is None else [seen_in_copy(shown, turn, mesh)]
        answers.append(lambda _width, copy=copy: copy)
    return face_mesh.read_face(take_reading(ScriptedModels(face_answers=answers), PHOTO, mesh[:, :2]))


def test_copies_that_agree_give_each_point_where_it_is() -> None:
    mesh = head_mesh(yaw_deg=30, x=400, y=300, face_px=FACE_PX)
    found = detected(mesh).landmarks
    truth = {"nose_tip": 4, "upper_lip_edge": 13, "lower_lip_edge": 14, "chin": 199, "mouth_corner": 61, "ear": 234}
    assert set(found.points) == set(truth)
    for name, index in truth.items():
        assert (found.points[name].x, found.points[name].y) == pytest.approx(tuple(mesh[index, :2]), abs=1e-6)
        assert found.points[name].by == "mediapipe_face_mesh"
    assert found.head_yaw is not None
    assert found.head_yaw.deg == pytest.approx(30, abs=0.01)


def test_where_all_copies_agree_the_sigma_is_the_measured_share_of_the_face() -> None:
    found = detected(head_mesh(yaw_deg=0, x=400, y=300, face_px=FACE_PX)).landmarks
    for name, (at_front, _) in face_mesh.FLOORS.items():
        assert found.points[name].sigma == pytest.approx(at_front * FACE_PX, rel=1e-3)


def test_copies_that_differ_a_little_widen_the_sigma() -> None:
    mesh = head_mesh(yaw_deg=20, x=400, y=300, face_px=FACE_PX)
    calm = detected(mesh).landmarks.points["chin"]
    shaken = detected(mesh, lambda number, m: m + np.array([2.0 * (-1) ** number, 0.0, 0.0])).landmarks.points["chin"]
    assert calm.sigma is not None
    assert shaken.sigma is not None
    # ±2 px in x only, n − 1 = 3: variance 16/3 in x and 0 in y, so 1.633 px a coordinate, times 1.6.
    assert shaken.sigma == pytest.approx(np.hypot(calm.sigma, 1.6 * np.sqrt(8 / 3)), rel=1e-6)


def test_copies_that_disagree_give_no_point_and_say_so() -> None:
    mesh = head_mesh(yaw_deg=10, x=400, y=300, face_px=FACE_PX)
    found = detected(mesh, lambda number, m: m + np.array([30.0 if number == 1 else 0.0, 0.0, 0.0]))
    assert not found.landmarks.points
    assert found.landmarks.head_yaw is None
    assert found.notes == (face_mesh.UNSURE,)


def test_a_copy_without_a_face_gives_no_point_and_says_so() -> None:
    found = detected(head_mesh(yaw_deg=10, x=400, y=300, face_px=FACE_PX), lambda number, m: None if number == 3 else m)
    assert not found.landmarks.points
    assert found.notes == (face_mesh.UNSURE,)


def test_a_face_that_reads_as_steadily_upside_down_gives_no_point() -> None:
    mesh = head_mesh(yaw_deg=10, x=400, y=300, face_px=FACE_PX)
    other_way_round = mesh * [1, -1, 1] + [0, 600, 0]
    upright = [seen_in_copy(mesh + np.array([0.5 * number, 0, 0]), turn, mesh) for number, turn in enumerate(TURNS)]
    upside_down = [seen_in_copy(other_way_round, turn, mesh) for turn in UPSIDE_DOWN]

    def read(copies: list[np.ndarray]) -> Detection:
        answers = [lambda _width, copy=copy: [copy] for copy in copies]
        return face_mesh.read_face(take_reading(ScriptedModels(face_answers=answers), PHOTO, mesh[:, :2]))

    assert read(upright).landmarks.points
    assert read(upright + upside_down).notes == (face_mesh.UNSURE,)


@pytest.mark.parametrize("yaw_deg", [-75, -55, 55, 75])
def test_a_head_turned_beyond_what_the_model_can_read_gives_no_point(yaw_deg: float) -> None:
    found = detected(head_mesh(yaw_deg=yaw_deg, x=400, y=300, face_px=FACE_PX))
    assert not found.landmarks.points
    assert found.notes == (face_mesh.TURNED_AWAY,)


def test_a_face_of_a_few_pixels_gives_no_point() -> None:
    found = detected(head_mesh(yaw_deg=0, x=400, y=300, face_px=15))
    assert not found.landmarks.points
    assert found.notes == (face_mesh.TOO_SMALL,)


@pytest.mark.parametrize(("yaw_deg", "corner", "ear"), [(25, 61, 234), (-25, 291, 454)])
def test_mouth_corner_and_ear_are_those_of_the_side_towards_the_camera(yaw_deg: float, corner: int, ear: int) -> None:
    mesh = head_mesh(yaw_deg=yaw_deg, x=400, y=300, face_px=FACE_PX)
    found = detected(mesh).landmarks.points
    assert found["mouth_corner"].x == pytest.approx(mesh[corner, 0], abs=1e-6)
    assert found["ear"].x == pytest.approx(mesh[ear, 0], abs=1e-6)


def test_the_sigma_of_head_yaw_grows_with_the_yaw() -> None:
    front, oblique = (detected(head_mesh(yaw_deg=deg, x=400, y=300, face_px=FACE_PX)) for deg in (0, 45))
    assert front.landmarks.head_yaw is not None
    assert oblique.landmarks.head_yaw is not None
    assert 3.0 <= front.landmarks.head_yaw.sigma_deg < oblique.landmarks.head_yaw.sigma_deg
