"""Millimetres per pixel from two points on a ruler that lies in the plane of the face."""

from dataclasses import replace
from math import hypot

from vision.errors import InvalidLandmarks
from vision.landmarks import LandmarkSet, Point, Scale
from vision.quantities.default_sigmas import sigma_px, with_default_sigmas
from vision.said import Said

#: The smallest and the largest distance between two scale marks that is taken for a ruler by a face, in millimetres.
DISTANCE_RANGE_MM = (1.0, 2000.0)


def scale_from_ruler(a: Point, b: Point, distance_mm: float) -> Scale:
    """The scale of a photo in which two points are a known distance apart.

    Parameters
    ----------
    a, b : Point
        In pixels of the upright photo; a point without sigma counts as off by 1 px.
    distance_mm : float
        Their true distance, taken as exact, within `DISTANCE_RANGE_MM`.

    Returns
    -------
    Scale
        s = L / ℓ with σ_s = s · √(σa² + σb²) / ℓ, ℓ the distance in pixels.

    Raises
    ------
    InvalidLandmarks
        Where the distance is out of range, or the points lie too close together to give a scale (ℓ within 2σ).

    Examples
    --------
    >>> scale_from_ruler(Point(x=0, y=0, sigma=3), Point(x=300, y=400, sigma=4), 50.0)
    Scale(mm_per_pixel=0.1, sigma=0.001)
    """
    low, high = DISTANCE_RANGE_MM
    if not low <= distance_mm <= high:
        raise InvalidLandmarks(
            Said(
                "The scale marks must be {low:.0f} to {high:.0f} mm apart, got {came}.",
                low=low,
                high=high,
                came=distance_mm,
            )
        )
    pixels, sd = hypot(b.x - a.x, b.y - a.y), hypot(sigma_px(a), sigma_px(b))
    if pixels <= 2 * sd:
        raise InvalidLandmarks(
            Said("The scale marks lie too close together in the photo, got {pixels:.0f} pixels.", pixels=pixels)
        )
    return Scale(mm_per_pixel=distance_mm / pixels, sigma=distance_mm / pixels * sd / pixels)


def with_ruler(landmarks: LandmarkSet, distance_mm: float) -> LandmarkSet:
    """A copy whose scale comes from its points scale_a and scale_b.

    Raises
    ------
    InvalidLandmarks
        Where one of them is not placed, or as in `scale_from_ruler`.
    """
    filled = with_default_sigmas(landmarks)
    a, b = filled.get("scale_a"), filled.get("scale_b")
    if a is None or b is None:
        raise InvalidLandmarks(Said("A scale needs both scale marks placed."))
    return replace(landmarks, scale=scale_from_ruler(a, b, distance_mm))
