"""A person's own click spread in one photo, from two blind rounds."""

from dataclasses import dataclass, replace

from screens.language import _
from vision.compare import OwnSigma, own_sigma
from vision.landmarks import LandmarkSet
from vision.measures import Measure, face_size

#: Two rounds that agree to the pixel still cannot place a point better than this, in pixels.
LEAST_SIGMA_PX = 0.5


@dataclass(frozen=True, kw_only=True)
class OwnSpread:
    """Standard deviation of one coordinate in pixels and, where nose and ear are placed, in percent of face size."""

    sigma_px: float
    percent_of_face: float | None
    n_points: int

    @property
    def text(self) -> str:
        """What it means, for the screen."""
        if self.percent_of_face is None:
            return _(
                "Your own spread over {n} points placed twice: {pixels:.1f} pixels. The ranges below now use it: they say "
                "how repeatable you are, not how near the truth."
            ).format(n=self.n_points, pixels=self.sigma_px)
        return _(
            "Your own spread over {n} points placed twice: {pixels:.1f} pixels, {percent:.1f} % of the size of the face. "
            "The ranges below now use it: they say how repeatable you are, not how near the truth."
        ).format(n=self.n_points, pixels=self.sigma_px, percent=self.percent_of_face)


def own_spread(first: LandmarkSet, second: LandmarkSet) -> OwnSpread | str:
    """The spread of two rounds, or one sentence why there is none."""
    found = own_sigma(first, second)
    if not isinstance(found, OwnSigma):
        return found.reason
    sigma = max(found.sigma_px, LEAST_SIGMA_PX)
    face = face_size(first)
    percent = 100 * sigma / face.value if isinstance(face, Measure) else None
    return OwnSpread(sigma_px=sigma, percent_of_face=percent, n_points=found.n_points)


def with_own_spread(landmarks: LandmarkSet, spread: OwnSpread) -> LandmarkSet:
    """The person's own points with this sigma; points of detectors keep theirs."""
    own = {name: replace(p, sigma=spread.sigma_px) for name, p in landmarks.points.items() if p.by == "student"}
    return landmarks.with_points(own)
