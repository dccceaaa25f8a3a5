"""What the profile networks answer, copy by copy, and several copies made into one reading of the photo."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.detectors.profile_crops import Floats, Frame

#: Order of the landmarks in the networks' output.
NAMES = (
    "mouth_corner", "upper_lip_edge", "lower_lip_edge", "nose_tip", "chin", "ear", "shoulder", "hip",
    "breast_at_nose", "breast_at_chin", "areola_above", "areola_below",
)  # fmt: skip
N = len(NAMES)
CORNER, UPPER, LOWER, NOSE, CHIN, EAR, SHOULDER, HIP = range(8)
#: Numbers for the head, in the order of the output.
_HEAD = (
    "yaw_sin", "yaw_cos", "yaw_log_b", "elevation", "elevation_log_b", "up_x", "up_y", "log2_face", "upper_depth",
    "lower_depth", "depth_log_b", "gape", "gape_log_b", "trunk_off", "trunk_log_b", "half_mouth",
)  # fmt: skip
#: Units in which the networks give elevation, gape and the trunk's turn.
_ELEVATION_DEG, _GAPE_DEG, _TRUNK_DEG = 30.0, 60.0, 45.0


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What one copy, or several together, say; pixels of the photo and degrees.

    points (12, 2); b (12,) the predicted spread (mean absolute error of a coordinate); spread (12,) standard deviation
    over the copies, 0 for one; chances (12, 3) that a point is outside, hidden, seen; yaw, elevation, trunk_off, gape
    with their predicted b and spread over the copies; up (2,); face: the face size.
    """

    points: Floats
    b: Floats
    spread: Floats
    chances: Floats
    yaw_deg: float
    yaw_b: float
    yaw_spread: float
    elevation_deg: float
    trunk_off_deg: float
    gape_deg: float
    gape_b: float
    gape_spread: float
    up: Floats
    face: float


def _softmax(scores: Floats) -> Floats:
    e = np.exp(scores - scores.max(axis=-1, keepdims=True))
    out: Floats = e / e.sum(axis=-1, keepdims=True)
    return out


def reading(row: NDArray[np.float32], frame: Frame) -> Reading:
    """One copy's output (100,) in pixels of the photo."""
    flat = row.astype(np.float64)
    points, log_b = flat[: 2 * N].reshape(N, 2), np.clip(flat[2 * N : 3 * N], -4, 6)
    head = dict(zip(_HEAD, flat[-len(_HEAD) :], strict=True))
    up = frame.direction_to_photo(np.array([head["up_x"], head["up_y"]]))
    return Reading(
        points=frame.to_photo(points),
        b=np.exp(log_b) / frame.scale,
        spread=np.zeros(N),
        chances=_softmax(flat[3 * N : 6 * N].reshape(N, 3)),
        yaw_deg=float(abs(np.degrees(np.arctan2(head["yaw_sin"], head["yaw_cos"])))),
        yaw_b=float(np.degrees(np.exp(np.clip(head["yaw_log_b"], -5, 2)))),
        yaw_spread=0.0,
        elevation_deg=float(head["elevation"] * _ELEVATION_DEG),
        trunk_off_deg=float(head["trunk_off"] * _TRUNK_DEG),
        gape_deg=float(np.clip(head["gape"] * _GAPE_DEG, 0, 180)),
        gape_b=float(np.exp(np.clip(head["gape_log_b"], -4, 2)) * _GAPE_DEG),
        gape_spread=0.0,
        up=up / max(float(np.hypot(*up)), 1e-9),
        face=float(2.0 ** np.clip(head["log2_face"], -6, 3) * 64 / frame.scale),
    )


def _weighted_median(values: Floats, weights: Floats) -> float:
    order = np.argsort(values)
    share = np.cumsum(weights[order]) - 0.5 * weights[order]
    return float(np.interp(0.5 * weights.sum(), share, values[order]))


def together(readings: Sequence[Reading]) -> Reading:
    """Several copies as one: medians weighted by what each copy says of its own spread, and the spread over the copies.

    A copy that says a point lies outside its crop hardly counts for it.
    """
    points, b = np.stack([r.points for r in readings]), np.stack([r.b for r in readings])
    chances = np.stack([r.chances for r in readings])
    weights = np.maximum(1 - chances[:, :, 0], 1e-3) ** 2 / b**2
    middle = np.array(
        [[_weighted_median(points[:, k, axis], weights[:, k]) for axis in (0, 1)] for k in range(points.shape[1])]
    )
    away = ((points - middle) ** 2).sum(axis=2) / 2
    share = weights / weights.sum(axis=0)

    def middle_of(values: Sequence[float], spreads: Sequence[float]) -> tuple[float, float, float]:
        v, w = np.array(values), 1 / np.array(spreads) ** 2
        m = _weighted_median(v, w)
        return m, float((np.array(spreads) * w).sum() / w.sum()), float(np.sqrt(((v - m) ** 2 * w).sum() / w.sum()))

    yaw, yaw_b, yaw_spread = middle_of([r.yaw_deg for r in readings], [r.yaw_b for r in readings])
    gape, gape_b, gape_spread = middle_of([r.gape_deg for r in readings], [r.gape_b for r in readings])
    up = np.sum([r.up for r in readings], axis=0)
    return Reading(
        points=middle,
        b=(b * share).sum(axis=0),
        spread=np.sqrt((away * share).sum(axis=0)),
        chances=(chances * share[:, :, None]).sum(axis=0),
        yaw_deg=yaw,
        yaw_b=yaw_b,
        yaw_spread=yaw_spread,
        elevation_deg=float(np.median([r.elevation_deg for r in readings])),
        trunk_off_deg=float(np.median([r.trunk_off_deg for r in readings])),
        gape_deg=gape,
        gape_b=gape_b,
        gape_spread=gape_spread,
        up=up / max(float(np.hypot(*up)), 1e-9),
        face=float(np.median([r.face for r in readings])),
    )


def turn_of(up: Floats) -> float:
    """Degrees by which that up direction is turned clockwise from the photo's.

    >>> turn_of(np.array([1.0, 0.0]))
    90.0
    """
    return float(np.degrees(np.arctan2(up[0], -up[1])))


def agreement(readings: Sequence[Reading]) -> float:
    """How far the copies' faces lie apart: the median distance of nose, chin and ear from their middle, in face sizes."""
    faces = np.stack([r.points[[NOSE, CHIN, EAR]] for r in readings])
    middle = np.median(faces, axis=0)
    size = float(np.median([r.face for r in readings]))
    return float(np.median(np.hypot(*(faces - middle).transpose(2, 0, 1)).mean(axis=1)) / max(size, 1e-6))
