"""Those who answer: this version's detector, the same models asked once and plainly, and a person's clicks."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from vision.bench.renders import BenchPicture
from vision.detect import Detector, ElseDetector
from vision.landmarks import STUDENT_YAW_SIGMA_DEG, HeadYaw, LandmarkSet, Point, Visibility
from vision.measures import with_default_sigmas
from vision.mediapipe_models import BodyModel
from vision.quantities.default_sigmas import CLICK_SIGMA_SHARE, COCO_SIGMA, HIDDEN_FACTOR

#: √area of the baby's outline over the face size, as in `vision.quantities.default_sigmas`.
_SQRT_AREA_FACES = 3.6


@dataclass(frozen=True, kw_only=True)
class Column:
    """One who answers: a name, and the landmarks for a picture."""

    name: str
    answer: Callable[[BenchPicture], LandmarkSet]


def detector_column(name: str, load: Callable[[], Detector]) -> Column:
    """A detector, asked without a box; points without sigma get the default one, as in `measure`."""
    return Column(name=name, answer=lambda picture: with_default_sigmas(_asked(load, picture)))


def _asked(load: Callable[[], Detector], picture: BenchPicture) -> LandmarkSet:
    return load().detect(picture.pixels(), None).landmarks


def general_detector(models: BodyModel) -> Detector:
    """This version's detector without the side-view network."""
    from vision.detectors.mediapipe_detector import MediaPipeDetector  # late, as in `vision.detect.default_detector`
    from vision.detectors.quarter_turns import QuarterTurns

    general = MediaPipeDetector(models)
    return ElseDetector(general, QuarterTurns(general))


def clicks_column(seed: int) -> Column:
    """A person who clicks on the true places, with the spread that people have, and chooses ψ by eye.

    Face and breast points 1.8 % of the face size a coordinate, ear, shoulder and hip as COCO's annotators, all doubled
    where the point is hidden and so placed by guess; ψ with a standard deviation of 8 degrees. Sigmas are not told:
    the measures use their default ones.
    """

    def answer(picture: BenchPicture) -> LandmarkSet:
        rng = np.random.default_rng([seed, picture.doll, round(100 * picture.head_yaw_deg)])
        points = {name: _clicked(name, point, picture.face_px, rng) for name, point in picture.truth.points.items()}
        yaw = float(np.clip(picture.head_yaw_deg + rng.normal(0, STUDENT_YAW_SIGMA_DEG), 0, 180))
        head_yaw = HeadYaw(deg=yaw, sigma_deg=STUDENT_YAW_SIGMA_DEG)
        clicked = LandmarkSet(points=points, head_yaw=head_yaw, body_view=picture.truth.body_view)
        return with_default_sigmas(clicked)

    return Column(name="clicks", answer=answer)


def _clicked(name: str, point: Point, face_px: float, rng: np.random.Generator) -> Point:
    share = COCO_SIGMA[name] * _SQRT_AREA_FACES / 2**0.5 if name in COCO_SIGMA else CLICK_SIGMA_SHARE
    spread = share * face_px * (HIDDEN_FACTOR if point.visibility == Visibility.HIDDEN else 1.0)
    dx, dy = rng.normal(0, spread, 2)
    return replace(point, x=point.x + float(dx), y=point.y + float(dy), by="student")


class MeshAndPose(Protocol):
    """The two models of the mediapipe wheel; see `vision.mediapipe_models.BodyModel`."""

    def faces(self, pixels: NDArray[np.uint8]) -> list[NDArray[np.float64]]:
        """The mesh of each face, (468, 3), z away from the camera."""
        ...

    def pose(self, pixels: NDArray[np.uint8]) -> NDArray[np.float64] | None:
        """The pose, (33, 4), or None."""
        ...


#: Face mesh and pose indices: V, shared facts of the two models; the subject's right side first.
_MESH = {"nose_tip": 4, "chin": 152, "upper_lip_edge": 13, "lower_lip_edge": 14}
_MESH_CORNERS = (61, 291)
_POSE_SIDES = {"ear": (8, 7), "shoulder": (12, 11), "hip": (24, 23)}


def plain_column(load: Callable[[], MeshAndPose]) -> Column:
    """The wheel's models as they come: one pass each, the first face, no search, no check, no ψ, default sigmas.

    Of left and right the one nearer to the camera by the model's own depth is taken.
    """

    def answer(picture: BenchPicture) -> LandmarkSet:
        pixels, models = picture.pixels(), load()
        return with_default_sigmas(LandmarkSet(points=_plain_points(models, pixels)))

    return Column(name="plain", answer=answer)


def _plain_points(models: MeshAndPose, pixels: NDArray[np.uint8]) -> dict[str, Point]:
    places: dict[str, NDArray[np.float64]] = {}
    pose = models.pose(pixels)
    if pose is not None:
        side = int(np.argmin([sum(pose[pair[s], 2] for pair in _POSE_SIDES.values()) for s in (0, 1)]))
        places = {"nose_tip": pose[0], **{name: pose[pair[side]] for name, pair in _POSE_SIDES.items()}}
    meshes = models.faces(pixels)
    if meshes:
        mesh = meshes[0]
        places |= {name: mesh[index] for name, index in _MESH.items()}
        places["mouth_corner"] = min((mesh[index] for index in _MESH_CORNERS), key=lambda place: float(place[2]))
    return {name: Point(x=float(place[0]), y=float(place[1]), by="plain") for name, place in places.items()}
