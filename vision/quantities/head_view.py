"""Which way the head is seen, and how large the face is.

ψ is the angle between the head's forward axis and the line from mouth to camera: 0 front, 90 side, above 90 turned
away. Forward is taken along the line ear → nose tip.

Value formula
-------------
F = n / (sin ψ + k cos ψ), with n the distance of nose tip and ear in the picture, k = 0.8; ψ = 90° where nobody has
said it. No value where ψ lies outside 55° to 120° by more than 2 σ_ψ, where the camera looks down or up by more than
20°, or where n <= 2 σ_n, σ_n² = σ_nose² + σ_ear² (sigmas of a coordinate). A ψ that is outside by less may well be
inside in truth: then the nearer end stands for it.
"""

from dataclasses import dataclass
from math import hypot

import numpy as np

from vision.geometry import Floats, complex_columns, propagate
from vision.landmarks import LANDMARK_NAMES, LandmarkSet, Visibility
from vision.quantities.default_sigmas import EAR_BREADTH_SHARE, coordinates, sigma_px
from vision.quantities.results import NotMeasurable, Result, measured
from vision.said import Said, listed, together

YAW_RANGE_DEG = (55.0, 120.0)
MAX_CAMERA_ELEVATION_DEG = 20.0
#: Standard deviation that stands in for an unknown ψ, which is then taken as 90 degrees.
UNKNOWN_YAW_SIGMA_DEG = 15.0

#: A ψ this many of its standard deviations outside the range is refused.
_OUTSIDE_SIGMAS = 2.0

YAW_UNKNOWN_NOTE = Said(
    "Head direction is not set, so this is read straight off the picture and its interval is wider."
)


@dataclass(frozen=True, kw_only=True)
class HeadView:
    """ψ as it enters the formulas.

    Parameters
    ----------
    yaw_deg, sigma_deg : float
        Degrees; 90 ± 15 where ψ is unknown. Inside `YAW_RANGE_DEG`.
    known : bool
        Whether somebody has said ψ.
    refusal : str or None
        Why nothing can be measured on a face seen like this.
    """

    yaw_deg: float
    sigma_deg: float
    known: bool
    refusal: str | None

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader should know of every value that leans on ψ."""
        return () if self.known else (YAW_UNKNOWN_NOTE,)


def head_view(landmarks: LandmarkSet) -> HeadView:
    """How the head is seen, with the reason where it is outside what the formulas hold for."""
    yaw, elevation = landmarks.head_yaw, landmarks.camera_elevation_deg
    refusal: Said | None = None
    if elevation is not None and abs(elevation) > MAX_CAMERA_ELEVATION_DEG:
        refusal = Said(
            "The camera looks {way} by {deg:.0f}°, and this can be read up to {most:.0f}°: take the photo from the side, "
            "at the height of the face.",
            way=Said("down") if elevation > 0 else Said("up"),
            deg=abs(elevation),
            most=MAX_CAMERA_ELEVATION_DEG,
        )
    if yaw is None:
        return HeadView(yaw_deg=90.0, sigma_deg=UNKNOWN_YAW_SIGMA_DEG, known=False, refusal=refusal)
    inside_deg = min(max(yaw.deg, YAW_RANGE_DEG[0]), YAW_RANGE_DEG[1])
    if abs(yaw.deg - inside_deg) > _OUTSIDE_SIGMAS * yaw.sigma_deg:
        refusal = Said(
            "The head is seen at {deg:.0f}°, and this can be read from {least:.0f}° to {most:.0f}° (90° is the side "
            "view): take the photo from the side.",
            deg=yaw.deg,
            least=YAW_RANGE_DEG[0],
            most=YAW_RANGE_DEG[1],
        )
    return HeadView(yaw_deg=inside_deg, sigma_deg=yaw.sigma_deg, known=True, refusal=refusal)


def face_refusal(landmarks: LandmarkSet) -> str | None:
    """Why the face size cannot be had from these points, or None where it can."""
    refusal = missing_refusal(landmarks, ("nose_tip", "ear")) or head_view(landmarks).refusal
    if refusal is not None:
        return refusal
    if too_close(landmarks, "nose_tip", "ear"):
        return Said("Ear and nose tip lie too close together to tell how large the face is and which way it points.")
    return None


def face_size(landmarks: LandmarkSet) -> Result:
    """The face size F in pixels, under the name "face_size"; every "% of face size" is a share of it."""
    refusal = face_refusal(landmarks)
    if refusal is not None:
        return NotMeasurable(name="face_size", unit="px", reason=refusal)
    view = head_view(landmarks)
    values, sigmas = coordinates([landmarks.points["nose_tip"], landmarks.points["ear"]])
    (size,), (sd,) = propagate(
        _face_size_formula,
        [*values, EAR_BREADTH_SHARE[0], view.yaw_deg],
        [*sigmas, EAR_BREADTH_SHARE[1], view.sigma_deg],
    )
    return measured("face_size", size, sd, unit="px", low=0.0, notes=view.notes)


def face_px(nose_to_ear: Floats, k: Floats, yaw_deg: Floats) -> Floats:
    """F from the distance n in the picture, k and ψ; arrays of one shape."""
    psi = np.radians(yaw_deg)
    size: Floats = nose_to_ear / (np.sin(psi) + k * np.cos(psi))
    return size


def missing_refusal(landmarks: LandmarkSet, names: tuple[str, ...]) -> str | None:
    """A sentence naming the points that are not placed, or None where all are."""
    missing = [LANDMARK_NAMES[name] for name in names if landmarks.get(name) is None]
    if not missing:
        return None
    return Said("Not placed: {points}.", points=listed(missing))


def hidden_notes(landmarks: LandmarkSet, names: tuple[str, ...]) -> tuple[str, ...]:
    """A note naming the points that were placed by guess, if there are any."""
    hidden = [LANDMARK_NAMES[name] for name in names if landmarks.points[name].visibility == Visibility.HIDDEN]
    told = Said("Placed by guess, where it cannot be seen: {points}.", points=together(hidden, between=", "))
    return (told,) if hidden else ()


def too_close(landmarks: LandmarkSet, first: str, second: str, *, sigmas: float = 2.0) -> bool:
    """Whether two placed points lie within so many standard deviations of each other, or coincide."""
    a, b = landmarks.points[first], landmarks.points[second]
    return hypot(a.x - b.x, a.y - b.y) <= sigmas * hypot(sigma_px(a), sigma_px(b))


def _face_size_formula(inputs: Floats) -> Floats:
    nose, ear = complex_columns(inputs, 2)
    return face_px(np.abs(nose - ear), inputs[:, 4], inputs[:, 5])[:, None]
