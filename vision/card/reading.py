"""What the printed scale card in a photo says about millimetres.

`vision.card.layout` says where the marks lie on the card, `vision.card.marks` reads them in a photo, `vision.card.fit`
works out how the card lies, `vision.card.pdf` prints it.
"""

from dataclasses import dataclass
from math import hypot, isfinite

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card.fit import fit_card
from vision.card.layout import MIN_MARKS
from vision.card.marks import read_marks
from vision.landmarks import LandmarkSet, Scale
from vision.measures import face_size
from vision.quantities.results import Measure

MAX_TILT_DEG = 20.0
#: Further from the face than this in the picture, the card cannot be trusted to lie at the face's distance, in mm.
FURTHEST_FROM_FACE_MM = 200.0
#: Nose tip to ear of newborns and practice dolls (an assumption, wide on purpose), in mm.
FACE_RANGE_MM = (45.0, 130.0)

NOT_FOUND = "No scale card was found."
PLANE_NOTE = (
    "The scale comes from the card and holds at the card's distance from the camera: it must lie beside the face, in "
    "its plane. Each centimetre nearer to or further from the camera changes the millimetres by {percent:.1f} %."
)

_FACE = ("nose_tip", "mouth_corner", "upper_lip_edge", "lower_lip_edge", "chin", "ear")


@dataclass(frozen=True, kw_only=True)
class CardFound:
    """A scale card in a photo.

    Parameters
    ----------
    scale : Scale
        Millimetres per pixel in the plane through the card's middle and square to the camera's axis, with its
        standard deviation: errors of the corners, of the unknown focal length and of the print.
    tilt_deg : float
        Angle between the card and the picture plane, degrees; the focal length is taken as `vision.card.fit` says.
    corners : tuple of four (x, y)
        The card's corners in pixels of the photo, from its top left clockwise; they may lie outside the photo.
    n_marks : int
        How many of the eight marks were read.
    warnings : tuple of str
        Why the scale should not be trusted as it stands, one sentence each; empty where nothing speaks against it.
    plane_note : str
        What always holds: the card must lie in the plane of the face.
    """

    scale: Scale
    tilt_deg: float
    corners: tuple[tuple[float, float], ...]
    n_marks: int
    warnings: tuple[str, ...]
    plane_note: str


@dataclass(frozen=True, kw_only=True)
class CardNotFound:
    """Why no scale can be had from a card in this photo, one sentence."""

    reason: str


def find_scale_card(pixels: NDArray[np.uint8], landmarks: LandmarkSet | None = None) -> CardFound | CardNotFound:
    """Look for the printed scale card in a photo.

    Parameters
    ----------
    pixels : uint8 array, shape (height, width, 3)
        Red, green, blue, upright.
    landmarks : LandmarkSet, optional
        Where the face is, if that is known: the card is then checked against it.

    Examples
    --------
    >>> find_scale_card(np.full((300, 400, 3), 200, np.uint8)).reason
    'No scale card was found.'
    """
    marks = read_marks(pixels)
    if not marks:
        return CardNotFound(reason=NOT_FOUND)
    if len(marks) < MIN_MARKS:
        return CardNotFound(reason=f"Only 1 mark of the scale card can be seen, and {MIN_MARKS} are needed.")
    fit = fit_card(marks, (pixels.shape[1], pixels.shape[0]))
    if fit is None:
        return CardNotFound(reason="Marks of a scale card were found, but they do not lie on one flat card.")
    scale = Scale(mm_per_pixel=fit.mm_per_pixel, sigma=fit.sigma)
    tilted = f"The scale card is tilted by {fit.tilt_deg:.0f}° to the camera, and {MAX_TILT_DEG:.0f}° is the most: "
    return CardFound(
        scale=scale,
        tilt_deg=fit.tilt_deg,
        corners=fit.corners,
        n_marks=fit.n_marks,
        warnings=(
            *((f"{tilted}lay it flat in the plane of the face.",) if fit.tilt_deg > MAX_TILT_DEG else ()),
            *(_off_the_face(fit.corners, scale, landmarks) if landmarks is not None else ()),
        ),
        plane_note=PLANE_NOTE.format(percent=1000 / fit.distance_mm),
    )


def _off_the_face(corners: tuple[tuple[float, float], ...], scale: Scale, landmarks: LandmarkSet) -> tuple[str, ...]:
    """What the face says about where the card lies; nothing where no face point is placed."""
    face = [(point.x, point.y) for name in _FACE if (point := landmarks.get(name)) is not None]
    if not face:
        return ()
    outline = np.array(corners, dtype=np.float32)
    away_px = max(0.0, -max(cv2.pointPolygonTest(outline, place, True) for place in face))
    away_mm = away_px * scale.mm_per_pixel
    found = []
    if away_mm > FURTHEST_FROM_FACE_MM:
        found.append(
            f"The scale card lies {away_mm:.0f} mm from the face in the picture: lay it beside the face, in its plane."
        )
    return (*found, *_odd_face_size(scale, landmarks))


def _odd_face_size(scale: Scale, landmarks: LandmarkSet) -> tuple[str, ...]:
    size = face_size(landmarks)
    if not isinstance(size, Measure):
        return ()
    low, high = size.low * scale.mm_per_pixel, size.high * scale.mm_per_pixel
    if not (isfinite(hypot(low, high)) and (high < FACE_RANGE_MM[0] or low > FACE_RANGE_MM[1])):
        return ()
    nearer = "further from the camera" if low > FACE_RANGE_MM[1] else "nearer to the camera"
    return (
        f"By this card the face measures {size.value * scale.mm_per_pixel:.0f} mm from nose tip to ear, and a baby's "
        f"measures {FACE_RANGE_MM[0]:.0f} to {FACE_RANGE_MM[1]:.0f} mm: the card seems to lie {nearer} than the face.",
    )
