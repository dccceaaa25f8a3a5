"""The general model and the side-view network together: who is asked, whose points count, and never two heads in one."""

from dataclasses import dataclass, field

import numpy as np
import pytest

from vision.detect import Box, Detection
from vision.detectors import face_mesh
from vision.detectors.several import OBLIQUE_DEG, MergedDetector
from vision.errors import ModelUnavailable
from vision.landmarks import MOUTH_IDS, GapeReading, HeadYaw, LandmarkSet, Point

PIXELS = np.zeros((100, 100, 3), np.uint8)
BOX = Box(x=0, y=0, width=100, height=100)
#: Nose tip and ear 40 px apart: the face size is about that.
HEAD = {"nose_tip": (60.0, 50.0), "ear": (20.0, 50.0), "chin": (58.0, 70.0), "mouth_corner": (52.0, 60.0),
        "upper_lip_edge": (58.0, 57.0), "lower_lip_edge": (57.0, 64.0)}  # fmt: skip


@dataclass
class Answers:
    """Says the same each time, and counts how often it was asked."""

    detection: Detection
    asked: int = field(default=0)

    def detect(self, pixels: np.ndarray, box: Box | None) -> Detection:  # noqa: ARG002 - the protocol's signature
        self.asked += 1
        return self.detection


class Broken:
    def detect(self, pixels: np.ndarray, box: Box | None) -> Detection:  # noqa: ARG002
        raise ModelUnavailable("The file of this model is missing.")


def head(by: str, sigma: float, *, yaw: float | None = None, x: float = 0.0, gape: bool = False,
         notes: tuple[str, ...] = ()) -> Answers:  # fmt: skip
    """One head, moved by x pixels."""
    points = {name: Point(x=at[0] + x, y=at[1], sigma=sigma, by=by) for name, at in HEAD.items()}
    said = None if yaw is None else HeadYaw(deg=yaw, sigma_deg=sigma, by=by)
    read = GapeReading(deg=70, sigma_deg=5, by=by) if gape else None
    return Answers(Detection(landmarks=LandmarkSet(points=points, head_yaw=said, gape=read), notes=notes))


def silent(*notes: str, **points: Point) -> Answers:
    return Answers(Detection(landmarks=LandmarkSet(points=points), notes=notes))


def placers(found: Detection) -> set[str | None]:
    return {point.by for point in found.landmarks.points.values()}


@pytest.mark.parametrize("yaw", [0.0, OBLIQUE_DEG - 1])
def test_a_face_from_the_front_is_the_general_models_alone(yaw: float) -> None:
    """And costs no look by the network."""
    general, side = head("mesh", 2, yaw=yaw), head("net", 1)
    assert MergedDetector(general, side).detect(PIXELS, None) == general.detection
    assert side.asked == 0


def test_an_oblique_head_gets_each_point_from_whoever_is_surest() -> None:
    general, side = head("mesh", 2, yaw=45), head("net", 3, yaw=48, x=1, gape=True)
    sure = {name: point for name, point in side.detection.landmarks.points.items() if name != "chin"}
    sure = {name: Point(x=point.x, y=point.y, sigma=1, by="net") for name, point in sure.items()}
    side.detection = Detection(landmarks=side.detection.landmarks.with_points(sure))
    found = MergedDetector(general, side).detect(PIXELS, None).landmarks
    assert {name: point.by for name, point in found.points.items()} == dict.fromkeys(HEAD, "net") | {"chin": "mesh"}
    assert found.head_yaw is not None
    assert found.head_yaw.by == "mesh"
    assert found.counting_gape is not None


def test_where_both_contradict_each_other_the_sigma_grows_to_their_distance() -> None:
    general, side = head("mesh", 1, yaw=45), head("net", 0.5, x=8)
    chin = MergedDetector(general, side).detect(PIXELS, None).landmarks.points["chin"]
    assert (chin.by, chin.x) == ("net", HEAD["chin"][0] + 8)
    assert chin.sigma == pytest.approx(8 / 2**0.5)


def test_two_heads_are_never_mixed_into_one() -> None:
    """The network sees another head two face sizes away: the general model's stays as it is."""
    general, side = head("mesh", 2, yaw=45), head("net", 0.5, x=80)
    assert MergedDetector(general, side).detect(PIXELS, None) == general.detection


def test_where_the_general_model_finds_no_face_the_networks_head_is_taken_whole() -> None:
    general = silent("No face was found.", ear=Point(x=90, y=90, sigma=1, by="pose"))
    found = MergedDetector(general, head("net", 1, notes=("Not found surely: hip.",))).detect(PIXELS, None)
    assert placers(found) == {"net"}
    assert found.notes == ("Not found surely: hip.",)


def test_in_a_box_the_body_models_points_fill_in_what_the_network_leaves_out() -> None:
    general = silent("No face was found in the box.", hip=Point(x=10, y=90, sigma=9, by="pose"))
    found = MergedDetector(general, head("net", 1)).detect(PIXELS, BOX)
    assert {name for name, point in found.landmarks.points.items() if point.by == "pose"} == {"hip"}
    (note,) = found.notes
    assert note.startswith("Not found surely, place these points by hand: shoulder, breast by nose")


def test_a_models_warning_goes_with_its_points() -> None:
    """The mesh's caution about a tongue is said while a point of the mesh is there."""
    sure, unsure = (head(face_mesh.BY, sigma, yaw=45, notes=(face_mesh.CHECK_LOWER_LIP,)) for sigma in (1, 3))
    side = head("net", 2)
    assert face_mesh.CHECK_LOWER_LIP in MergedDetector(sure, side).detect(PIXELS, None).notes
    assert face_mesh.CHECK_LOWER_LIP not in MergedDetector(unsure, side).detect(PIXELS, None).notes


def test_where_neither_finds_a_face_both_say_why() -> None:
    found = MergedDetector(silent("No face."), silent("No side view.")).detect(PIXELS, None)
    assert not found.landmarks.points
    assert found.notes == ("No face.", "No side view.")


def test_a_model_that_cannot_be_loaded_leaves_the_other_ones_answer() -> None:
    oblique, net = head("mesh", 2, yaw=45), head("net", 1)
    assert MergedDetector(oblique, Broken()).detect(PIXELS, None) == oblique.detection
    assert MergedDetector(oblique, silent("No side view.")).detect(PIXELS, None) == oblique.detection
    found = MergedDetector(Broken(), net).detect(PIXELS, None)
    assert set(found.landmarks.points) >= set(MOUTH_IDS)
    assert found.notes == ("The file of this model is missing.",)
    assert MergedDetector(silent("No face."), Broken()).detect(PIXELS, None).notes[-1] == found.notes[0]
    with pytest.raises(ModelUnavailable):
        MergedDetector(Broken(), Broken()).detect(PIXELS, None)
