"""Finding landmarks in a photo: what every detector promises, and how the answers of several are put together.

A detector proposes, a person decides: `add_proposals` fills only what nobody has placed. A detector that is not sure
gives no point and says why; a wrong point that looks sure costs a learner more than a missing one.
"""

import atexit
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import hypot, isfinite
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from vision.errors import InvalidLandmarks, ModelUnavailable
from vision.landmarks import BodyView, HeadYaw, LandmarkSet, Point
from vision.machine import library_lack

#: Colour pixels, uint8, shape (height, width, 3), red green blue, upright.
Pixels = NDArray[np.uint8]


@dataclass(frozen=True, kw_only=True)
class Box:
    """A rectangle that a person drew around the baby or doll: pixels of the upright photo, x right, y down.

    Raises
    ------
    InvalidLandmarks
        For a number that is not finite, or a width or height that is not above 0.

    Examples
    --------
    >>> Box(x=10, y=20, width=100, height=50).holds(60, 40)
    True
    """

    x: float
    y: float
    width: float
    height: float

    def __post_init__(self) -> None:
        if not all(isfinite(value) for value in (self.x, self.y, self.width, self.height)):
            raise InvalidLandmarks(
                f"a box needs four finite numbers, got {self.x}, {self.y}, {self.width}, {self.height}"
            )
        if self.width <= 0 or self.height <= 0:
            raise InvalidLandmarks(f"a box must be wider and higher than 0, got {self.width} by {self.height}")

    def holds(self, x: float, y: float) -> bool:
        """Whether that place lies in the box, its edge included."""
        return self.x <= x <= self.x + self.width and self.y <= y <= self.y + self.height


@dataclass(frozen=True, kw_only=True)
class Detection:
    """What a detector found, and one sentence for each kind of point that it left out."""

    landmarks: LandmarkSet
    notes: tuple[str, ...] = ()


class Detector(Protocol):
    """Anything that proposes landmarks."""

    def detect(self, pixels: Pixels, box: Box | None) -> Detection:
        """Propose landmarks for the baby or doll in the box; without a box, for the smaller face in the photo.

        Parameters
        ----------
        pixels : uint8 array, shape (height, width, 3)
            Red, green, blue, upright.
        box : Box or None
            Where the baby or doll is, in pixels of the photo.

        Returns
        -------
        Detection
            Every point has a sigma. What could not be found surely is absent and a note says why.

        Raises
        ------
        ModelUnavailable
            Where a model cannot be loaded on this machine.
        """
        ...


@dataclass(frozen=True, kw_only=True)
class FixedDetector:
    """Answers the same whatever the photo: a stand-in for tests and for trying out a screen.

    Examples
    --------
    >>> fixed = FixedDetector(points={"chin": Point(x=3, y=4, sigma=1.0, by="fixed")})
    >>> fixed.detect(np.zeros((8, 8, 3), np.uint8), None).landmarks.points["chin"].x
    3
    """

    points: Mapping[str, Point]
    head_yaw: HeadYaw | None = None
    body_view: BodyView = BodyView.UNKNOWN
    notes: tuple[str, ...] = ()

    def detect(self, pixels: Pixels, box: Box | None) -> Detection:  # noqa: ARG002 - the protocol's signature
        """The fixed answer."""
        landmarks = LandmarkSet(points=self.points, head_yaw=self.head_yaw, body_view=self.body_view)
        return Detection(landmarks=landmarks, notes=self.notes)


def _sigma(point: Point) -> float:
    return float("inf") if point.sigma is None else point.sigma


def _merged_point(candidates: Sequence[Point]) -> Point:
    """The surest candidate; its sigma widened to the distance of another one that lies further off than both explain."""
    best = min(candidates, key=_sigma)
    if best.sigma is None:
        return best
    sigma = best.sigma
    for other in candidates:
        # A coordinate's share of the distance, less what the other's own spread explains.
        apart = hypot(other.x - best.x, other.y - best.y) / 2**0.5
        if other is not best and apart > 2 * hypot(best.sigma, _sigma(other)):
            sigma = max(sigma, apart)
    return replace(best, sigma=sigma)


def merge(detections: Sequence[Detection]) -> Detection:
    """Put several answers about one photo together, point by point: the smallest sigma wins, `by` keeps who said it.

    Where two answers lie further apart than twice their joint sigma, the winner's sigma grows to their distance: one of
    them is wrong and nobody knows which. The surest head yaw and gape reading are taken; a body view counts
    where nobody contradicts it.
    """
    candidates: dict[str, list[Point]] = {}
    for detection in detections:
        for name, point in detection.landmarks.points.items():
            candidates.setdefault(name, []).append(point)
    yaws = [d.landmarks.head_yaw for d in detections if d.landmarks.head_yaw is not None]
    gapes = [d.landmarks.gape for d in detections if d.landmarks.gape is not None]
    heights = [d.landmarks.camera_elevation_deg for d in detections if d.landmarks.camera_elevation_deg is not None]
    views = {d.landmarks.body_view for d in detections} - {BodyView.UNKNOWN}
    landmarks = LandmarkSet(
        points={name: _merged_point(points) for name, points in candidates.items()},
        head_yaw=min(yaws, key=lambda yaw: yaw.sigma_deg, default=None),
        camera_elevation_deg=next(iter(heights), None),
        body_view=views.pop() if len(views) == 1 else BodyView.UNKNOWN,
        gape=min(gapes, key=lambda gape: gape.sigma_deg, default=None),
    )
    notes = dict.fromkeys(note for detection in detections for note in detection.notes)
    return Detection(landmarks=landmarks, notes=tuple(notes))


@dataclass(frozen=True)
class ElseDetector:
    """Asks the second detector only where the first one found no face, and keeps whichever found one.

    Where one of them cannot be loaded the other is asked all the same, and a note says so.
    """

    first: Detector
    second: Detector

    def detect(self, pixels: Pixels, box: Box | None) -> Detection:
        """See `Detector.detect`; raises ModelUnavailable only where neither can be loaded."""
        try:
            plain = self.first.detect(pixels, box)
        except ModelUnavailable as fault:
            return with_notes(self.second.detect(pixels, box), str(fault))
        if "nose_tip" in plain.landmarks.points:
            return plain
        try:
            turned = self.second.detect(pixels, box)
        except ModelUnavailable as fault:
            return with_notes(plain, str(fault))
        if "nose_tip" in turned.landmarks.points:
            return turned
        return with_notes(plain, *turned.notes)


def with_notes(detection: Detection, *notes: str) -> Detection:
    """The same landmarks with further notes, each once."""
    return replace(detection, notes=tuple(dict.fromkeys((*detection.notes, *notes))))


def add_proposals(existing: LandmarkSet, proposed: LandmarkSet) -> LandmarkSet:
    """Fill in what nobody has said yet; whatever is already placed or said stays as it is.

    Examples
    --------
    >>> mine = LandmarkSet(points={"chin": Point(x=1, y=1)})
    >>> theirs = LandmarkSet(points={"chin": Point(x=9, y=9, by="net"), "ear": Point(x=5, y=5, by="net")})
    >>> [(name, point.x) for name, point in add_proposals(mine, theirs).points.items()]
    [('chin', 1), ('ear', 5)]
    """
    new: Iterable[str] = [name for name in proposed.points if name not in existing.points]
    return replace(
        existing.with_points({name: proposed.points[name] for name in new}),
        head_yaw=existing.head_yaw or proposed.head_yaw,
        camera_elevation_deg=(
            proposed.camera_elevation_deg if existing.camera_elevation_deg is None else existing.camera_elevation_deg
        ),
        body_view=existing.body_view or proposed.body_view,
        scale=existing.scale or proposed.scale,
        gape=existing.gape or proposed.gape,
    )


@cache
def default_detector() -> Detector:
    """The detectors that this version ships: the general ones and the side-view network, else the general ones again on
    the turned photo.

    One for the whole process, its models loaded at the first photo.

    Raises
    ------
    ModelUnavailable
        Where a system library is missing.
    """
    try:  # late: a page that detects nothing needs none of it
        from vision.detectors.mediapipe_detector import MediaPipeDetector
        from vision.detectors.quarter_turns import QuarterTurns
        from vision.detectors.several import MergedDetector
        from vision.mediapipe_models import MediaPipeModels
        from vision.profile_net import ProfileDetector
    except ImportError as error:
        raise ModelUnavailable(library_lack(error)) from error
    models = MediaPipeModels()
    atexit.register(models.close)
    general = MediaPipeDetector(models)
    return ElseDetector(MergedDetector(general, ProfileDetector()), QuarterTurns(general))
