"""Covering what must not be shown: proposals for faces, and areas burned into a photo for good.

An area becomes one flat colour, with nothing of the photo below it. Blur and mosaic are not offered: what they leave
can be sharpened or guessed back, a face above all. The colour reaches `MARGIN_PX` further than the area, because a
camera's JPEG spreads what lies in one block of 16 pixels over the whole of that block, and a little beyond.

Cover before a crop, and encode only after both: the areas speak in pixels of the photo that is given.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import hypot

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.covering.areas import CoverArea, CoverKind, CoverShape
from vision.covering.faces import FaceFinder, FoundFace, find_faces
from vision.detect import Box, Detector, ElseDetector, default_detector
from vision.detectors.several import MergedDetector
from vision.landmarks import LANDMARK_NAMES, LandmarkSet
from vision.mediapipe_models import MediaPipeModels
from vision.photo import Photo
from vision.quantities.default_sigmas import typical_face_px
from vision.said import Said, together

__all__ = [
    "COVER_COLOUR", "MARGIN_PX", "CoverArea", "CoverKind", "CoverProposals", "CoverShape", "Covered", "cover",
    "face_finder", "hidden_landmarks", "propose_covers",
]  # fmt: skip

#: Red, green, blue of the flat fill: no skin has it.
COVER_COLOUR = (92, 104, 112)
#: A JPEG with halved colour (ITU-T T.81) carries what lies at one corner of a block of 16 × 16 pixels up to 15 pixels
#: across and down, and one further where its colour is smoothed on reading: √(16² + 16²) = 22.6 pixels. Measured on
#: 400 covers of noise: with 16 pixels 215 still let differences below them through, with 20 nine, with 22 none.
MARGIN_PX = 23
#: Drawing rounds corners to whole pixels, and its lines may pass beside a pixel that the area only touches.
_ROUNDING_PX = 2.0
#: No pixel has a part further than this from an area's outline and is filled: corners are rounded, and a pixel is as wide
#: as its diagonal.
_FURTHEST_PX = MARGIN_PX + _ROUNDING_PX + 2.5

_OF_THE_FACE = ("nose_tip", "chin", "mouth_corner", "upper_lip_edge", "lower_lip_edge", "ear")
#: A found face is the measured one where its middle lies this near to the middle of the measured face's points:
#: in widths of the found face, or in sizes of the measured one.
_SAME_FACE = (0.7, 1.0)

ANOTHER_FACE = Said("A face that is not the one being measured.")
CHECK = Said("Faces that are turned away, far off or half hidden can be missed: look for yourself.")
SMALLEST_KEPT = Said(
    "Nobody has said which face is the baby's, so the smallest face found stays uncovered. "
    "If it is not the baby's, cover it."
)


@dataclass(frozen=True, kw_only=True)
class CoverProposals:
    """Faces to cover, for a person to accept or remove.

    Parameters
    ----------
    areas : tuple of CoverArea
    notes : tuple of str
        One sentence each, for the person who decides.
    """

    areas: tuple[CoverArea, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Covered:
    """A photo with its covers burned in.

    Parameters
    ----------
    photo : Photo
        A new picture of the same size.
    hidden : tuple of landmark ids
        Those of the measured baby that lie under a cover now.
    notes : tuple of str
        A sentence about them; empty where nothing is hidden.
    """

    photo: Photo
    hidden: tuple[str, ...]
    notes: tuple[str, ...]


@cache
def face_finder() -> FaceFinder:
    """The finder that this version ships: the one that the default detector has loaded anyway.

    Raises
    ------
    ModelUnavailable
        Where a system library is missing.
    """
    shipped = _shipped()
    models = getattr(shipped.general, "models", None) if isinstance(shipped, MergedDetector) else None
    return models if isinstance(models, MediaPipeModels) else MediaPipeModels()


def propose_covers(
    photo: Photo,
    *,
    landmarks: LandmarkSet | None = None,
    box: Box | None = None,
    finder: FaceFinder | None = None,
    detector: Detector | None = None,
) -> CoverProposals:
    """Propose a cover for each face but the measured one.

    Parameters
    ----------
    photo : Photo
        Upright; the faces in it may be turned anyhow.
    landmarks, box
        What says where the measured face is: its points, or what a person drew around it. Without either the detector
        is asked, and where that is silent the smallest face found is taken for the baby's, which a note says.
    finder, detector
        By default those that this version ships (of the detectors the side-view network: it knows babies, not adults).

    Raises
    ------
    ModelUnavailable
        Where a model cannot be loaded on this machine.
    """
    found = find_faces(finder or face_finder(), photo.pixels)
    notes = [CHECK]
    if not found:
        return CoverProposals(areas=(), notes=tuple(notes))
    if box is None and not len(_face_points(landmarks)):
        landmarks = (detector or baby_detector()).detect(photo.pixels, None).landmarks
    others = [face for face in found if not _is_measured(face, landmarks, box)]
    if box is None and not len(_face_points(landmarks)):
        others = [face for face in found if face is not found[-1]]
        notes.insert(0, SMALLEST_KEPT)
    return CoverProposals(areas=tuple(face.area(ANOTHER_FACE) for face in others), notes=tuple(notes))


def cover(photo: Photo, areas: Sequence[CoverArea], *, landmarks: LandmarkSet | None = None) -> Covered:
    """Burn the areas into a copy of the photo, for good.

    Inside an area and up to `MARGIN_PX` outside it every pixel is `COVER_COLOUR`, whatever was there.

    Parameters
    ----------
    photo : Photo
    areas : sequence of CoverArea
        In pixels of that photo; parts outside it are left off.
    landmarks : LandmarkSet or None
        Of the measured baby: those that a cover hides are named in the answer.

    Examples
    --------
    >>> photo = Photo(pixels=np.zeros((80, 100, 3), np.uint8))
    >>> card = CoverArea(kind=CoverKind.NAME, shape=CoverShape.RECTANGLE, x=50, y=40, width=20, height=10)
    >>> covered = cover(photo, [card]).photo
    >>> covered.pixels[40, 50].tolist(), covered.pixels[5, 5].tolist()
    ([92, 104, 112], [0, 0, 0])
    """
    pixels = photo.pixels.copy()
    for area in areas:
        _burn(pixels, area)
    hidden = hidden_landmarks(areas, landmarks or LandmarkSet())
    names = together((LANDMARK_NAMES[name] for name in hidden), between=", ")
    note = Said("A cover hides the baby's {points}: what is hidden cannot be measured.", points=names)
    notes = (note,) if hidden else ()
    return Covered(photo=Photo(pixels=pixels), hidden=hidden, notes=notes)


def hidden_landmarks(areas: Sequence[CoverArea], landmarks: LandmarkSet) -> tuple[str, ...]:
    """Ids of the points that lie under an area or its margin, in the order of the landmarks."""
    outlines = [area.outline().astype(np.float32) for area in areas]

    def lies_under(x: float, y: float) -> bool:
        return any(cv2.pointPolygonTest(line, (x, y), True) >= -_FURTHEST_PX for line in outlines)

    placed = ((name, landmarks.get(name)) for name in LANDMARK_NAMES)
    return tuple(name for name, point in placed if point is not None and lies_under(point.x, point.y))


def _burn(pixels: NDArray[np.uint8], area: CoverArea) -> None:
    """Fill one area and its margin, in place."""
    height, width = pixels.shape[:2]
    # Squared distances between pixels are whole numbers: half of one more, and no rounding decides about a pixel.
    reach = hypot(MARGIN_PX + _ROUNDING_PX, 0.5**0.5)
    outline = area.outline()
    air = 2 * MARGIN_PX
    low = np.maximum(np.floor(outline.min(axis=0)) - air, -air).astype(int)
    high = np.minimum(np.ceil(outline.max(axis=0)) + air, [width + air, height + air]).astype(int)
    if (high <= low).any():
        return
    clear = np.full((high[1] - low[1], high[0] - low[0]), 255, np.uint8)
    # Sixteenths of a pixel; OpenCV counts from the middles of pixels.
    corners = np.round((outline - low - 0.5) * 16).astype(np.int32)
    cv2.fillPoly(clear, [corners], (0,), lineType=cv2.LINE_8, shift=4)
    near = cv2.distanceTransform(clear, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) <= reach
    x0, y0 = max(low[0], 0), max(low[1], 0)
    x1, y1 = min(high[0], width), min(high[1], height)
    if x1 > x0 and y1 > y0:
        pixels[y0:y1, x0:x1][near[y0 - low[1] : y1 - low[1], x0 - low[0] : x1 - low[0]]] = COVER_COLOUR


def _face_points(landmarks: LandmarkSet | None) -> NDArray[np.float64]:
    points = {} if landmarks is None else landmarks.points
    return np.array([[points[name].x, points[name].y] for name in _OF_THE_FACE if name in points]).reshape(-1, 2)


def _is_measured(face: FoundFace, landmarks: LandmarkSet | None, box: Box | None) -> bool:
    if box is not None and box.holds(face.x, face.y):
        return True
    points = _face_points(landmarks)
    if landmarks is None or not len(points):
        return False
    x, y = points.mean(axis=0)
    size = typical_face_px(landmarks) or 0.0
    return hypot(face.x - x, face.y - y) <= max(_SAME_FACE[0] * face.size, _SAME_FACE[1] * size)


def baby_detector() -> Detector:
    """Of the shipped detectors the side-view network: it knows babies, not adults."""
    shipped = _shipped()
    return shipped.side if isinstance(shipped, MergedDetector) else shipped


def _shipped() -> Detector:
    """What the default detector asks about the photo as it lies."""
    detector = default_detector()
    return detector.first if isinstance(detector, ElseDetector) else detector
