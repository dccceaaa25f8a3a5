"""How a flat card of known size must lie for its marks to appear where they do.

A pinhole camera looks at the card; its axis meets the middle of the photo. Fitted, by weighted least squares:

    turn of the card (3) · its middle in the photo (2) · ln s, s the mm per pixel there (1)
    ln f, the focal length over the longer side of the photo (1), expected at ln 1.2 ± 0.35
    by how much every mark looks larger than it was printed (1), expected within half a pixel: ink spreads, edges blur

s = Z/f, Z the depth of the card's middle. The range of f stands for cameras of phones, 24 to 80 mm on a frame 36 mm
wide, so 0.65 to 2.2 (M); a card that fills the photo can tell f itself, a small one hardly.

    σ_s² = (σ_fit² + 0.003²) s²

σ_fit from the curvature of the fit, the noise of a corner taken from the residuals and from what is usual; 0.3 % is
what a ruler of 100 mm read to half a millimetre leaves open about the print.
"""

from dataclasses import dataclass
from math import exp, hypot, log, sqrt

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import OptimizeResult, least_squares

from vision.card.layout import CARD_MM, MARK_MM, MARKS_MM, MIN_MARKS
from vision.card.marks import MarkSeen

Floats = NDArray[np.float64]

#: Focal length over the longer side of the photo: mean of its logarithm, and standard deviation.
FOCAL_LN = (log(1.2), 0.35)
PRINT_SIGMA = 0.003
#: Usual standard deviation of a mark's corner, in pixels of the picture searched, and how many residuals it weighs.
CORNER_SIGMA_PX, _CORNER_WEIGHT = 0.3, 8
#: Standard deviation of the apparent growth of a mark's edge, in pixels of the picture searched.
_GROWTH_SIGMA_PX = 0.5
#: A mark with a corner further off one plane than this share of its side (and so many pixels) belongs elsewhere.
_OFF_PLANE_SHARE, _OFF_PLANE_PX = 0.1, 3.0

#: Places in the parameters: turn 0 to 2, the card's middle in pixels 3 and 4, then these.
_SCALE_LN, _FOCAL_LN, _GROWTH = 5, 6, 7


@dataclass(frozen=True, kw_only=True)
class CardFit:
    """Scale and its standard deviation, tilt in degrees, the card's corners in the photo, marks used, and the card's
    distance in mm (rough: the focal length is)."""

    mm_per_pixel: float
    sigma: float
    tilt_deg: float
    corners: tuple[tuple[float, float], ...]
    n_marks: int
    distance_mm: float


def mark_corners_mm(mark: int, growth: float = 0.0) -> Floats:
    """The four corners of a mark on the card, from its top left clockwise, its edges moved out by `growth` mm."""
    x, y = MARKS_MM[mark]
    low, high = -growth, MARK_MM + growth
    return np.array([[x + low, y + low], [x + high, y + low], [x + high, y + high], [x + low, y + high]])


def fit_card(marks: list[MarkSeen], size: tuple[int, int]) -> CardFit | None:
    """The card that these marks lie on, in a photo of `size` (width, height); None where they fit no flat card."""
    marks = _on_one_plane(marks)
    if len(marks) < MIN_MARKS:
        return None
    found = min((_fitted(marks, size, start) for start in _starts(marks, size)), key=lambda fit: fit.cost)
    width, height = CARD_MM
    outline = _projected(found.x, np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64), size)
    turn, _ = cv2.Rodrigues(found.x[:3])
    scale = exp(found.x[_SCALE_LN])
    return CardFit(
        mm_per_pixel=scale,
        sigma=scale * hypot(_fit_sigma(found), PRINT_SIGMA),
        tilt_deg=float(np.degrees(np.arccos(min(1.0, abs(turn[2, 2]))))),
        corners=tuple((float(x), float(y)) for x, y in outline),
        n_marks=len(marks),
        distance_mm=scale * exp(found.x[_FOCAL_LN]) * max(size),
    )


def _on_one_plane(marks: list[MarkSeen]) -> list[MarkSeen]:
    """Those marks whose corners one homography explains."""
    on_card = np.concatenate([mark_corners_mm(seen.mark) for seen in marks])
    in_photo = np.concatenate([seen.corners for seen in marks])
    side = np.median([cv2.arcLength(seen.corners.astype(np.float32), True) / 4 for seen in marks])
    allowed = max(_OFF_PLANE_SHARE * float(side), _OFF_PLANE_PX * marks[0].pixel)
    # Of two marks each has its own four corners to hold on to: the search must be thorough and always the same.
    cv2.setRNGSeed(0)
    _, inliers = cv2.findHomography(on_card, in_photo, cv2.RANSAC, allowed)
    if inliers is None:
        return []
    kept = inliers.reshape(-1, 4).all(axis=1)
    return [seen for seen, keep in zip(marks, kept, strict=True) if keep]


def _fitted(marks: list[MarkSeen], size: tuple[int, int], start: Floats) -> OptimizeResult:
    seen = np.concatenate([mark.corners for mark in marks])
    pixel = marks[0].pixel

    def residuals(parameters: Floats) -> Floats:
        on_card = np.concatenate([mark_corners_mm(mark.mark, parameters[_GROWTH]) for mark in marks])
        off = (_projected(parameters, on_card, size) - seen).ravel() / (CORNER_SIGMA_PX * pixel)
        growth = parameters[_GROWTH] / (_GROWTH_SIGMA_PX * pixel * exp(start[_SCALE_LN]))
        return np.concatenate([off, [growth, (parameters[_FOCAL_LN] - FOCAL_LN[0]) / FOCAL_LN[1]]])

    return least_squares(residuals, start, x_scale="jac")


def _fit_sigma(found: OptimizeResult) -> float:
    """Standard deviation of ln s."""
    covariance = np.linalg.pinv(found.jac.T @ found.jac)
    freedom = len(found.fun) - len(found.x)
    noise = (2 * found.cost + _CORNER_WEIGHT) / (freedom + _CORNER_WEIGHT)
    return sqrt(covariance[_SCALE_LN, _SCALE_LN] * noise)


def _starts(marks: list[MarkSeen], size: tuple[int, int]) -> list[Floats]:
    """First guesses: a flat card seen from afar looks much the same tilted either way."""
    on_card = np.concatenate([mark_corners_mm(seen.mark) for seen in marks]) - np.array(CARD_MM) / 2
    in_photo = np.concatenate([seen.corners for seen in marks])
    focal = exp(FOCAL_LN[0]) * max(size)
    camera = np.array([[focal, 0, size[0] / 2], [0, focal, size[1] / 2], [0, 0, 1]])
    flat = np.column_stack([on_card, np.zeros(len(on_card))])
    undistorted = np.zeros(4)
    _, turns, places, _ = cv2.solvePnPGeneric(flat, in_photo, camera, undistorted, flags=cv2.SOLVEPNP_IPPE)
    starts = []
    for turn, place in zip(turns, places, strict=True):
        x, y, z = np.ravel(place)
        starts.append(np.array([*np.ravel(turn), x * focal / z, y * focal / z, log(z / focal), FOCAL_LN[0], 0.0]))
    return starts


def _projected(parameters: Floats, on_card: Floats, size: tuple[int, int]) -> Floats:
    """Pixels (n, 2) of places (n, 2) on the card in mm; the card's middle is the origin of its turn."""
    turn, _ = cv2.Rodrigues(parameters[:3])
    scale, focal = exp(parameters[_SCALE_LN]), exp(parameters[_FOCAL_LN]) * max(size)
    middle = np.array([*parameters[3:5], focal]) * scale
    there = (on_card - np.array(CARD_MM) / 2) @ turn[:, :2].T + middle
    pixels: Floats = focal * there[:, :2] / there[:, 2:] + np.array(size) / 2
    return pixels
