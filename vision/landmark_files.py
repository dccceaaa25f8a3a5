"""Landmark files: the JSON of `--landmarks`. Everything read here is untrusted.

{"landmarks": {id: {"x", "y"[, "sigma", "visibility", "by"]}}, "head_yaw_deg", "head_yaw_sigma_deg", "mm_per_pixel",
"mm_per_pixel_sigma"[, "head_yaw_by", "camera_elevation_deg", "body_view", "gape_reading": {"deg", "sigma_deg", "by"}]};
numbers that are unknown are null or left out. A point of visibility 0 is not placed.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vision.errors import InvalidLandmarks
from vision.json_values import mapping_at, no_repeats, number_at, only_keys, refuse_constant, text_at
from vision.landmarks import (
    LANDMARK_IDS,
    STUDENT_YAW_SIGMA_DEG,
    BodyView,
    GapeReading,
    HeadYaw,
    LandmarkSet,
    Point,
    Scale,
    Visibility,
)

MAX_FILE_BYTES = 1024 * 1024

_GAPE_KEYS = ("deg", "sigma_deg", "by")
_POINT_KEYS = ("x", "y", "sigma", "visibility", "by")
_SET_KEYS = (
    "landmarks",
    "head_yaw_deg",
    "head_yaw_sigma_deg",
    "head_yaw_by",
    "mm_per_pixel",
    "mm_per_pixel_sigma",
    "camera_elevation_deg",
    "body_view",
    "gape_reading",
)


def read_landmarks(path: Path | str) -> LandmarkSet:
    """The set in a JSON file of at most `MAX_FILE_BYTES`.

    Raises
    ------
    InvalidLandmarks
        With one sentence, also where the file cannot be read at all.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            data = file.read(MAX_FILE_BYTES + 1)
    except OSError as fault:
        raise InvalidLandmarks(f"{path.name} cannot be read: {fault.strerror or fault}.") from fault
    if len(data) > MAX_FILE_BYTES:
        raise InvalidLandmarks(f"{path.name} has more than {MAX_FILE_BYTES // 1024} kB, too much for a landmark file.")
    return landmarks_from_json(parsed_json(data, path.name))


def parsed_json(data: bytes, name: str) -> object:
    """The JSON value in these bytes; NaN, Infinity and a key given twice are refused.

    Raises
    ------
    InvalidLandmarks
        With one sentence.
    """
    try:
        return json.loads(data.decode("utf-8"), parse_constant=refuse_constant, object_pairs_hook=no_repeats)
    except InvalidLandmarks as fault:
        raise InvalidLandmarks(f"{name}: {fault}") from fault
    except (ValueError, RecursionError) as fault:
        raise InvalidLandmarks(f"{name} is not valid JSON.") from fault


def landmarks_from_json(value: object) -> LandmarkSet:
    """A set from the decoded JSON value.

    Raises
    ------
    InvalidLandmarks
        With one sentence that names the part, the rule and what came.

    Examples
    --------
    >>> landmarks_from_json({"landmarks": {"chin": {"x": 3, "y": 4}}}).points["chin"].by
    'file'
    """
    whole = mapping_at(value, "a landmark file")
    only_keys(whole, _SET_KEYS, "a landmark file")
    entries = mapping_at(whole.get("landmarks"), "landmarks")
    unknown = [name for name in entries if name not in LANDMARK_IDS]
    if unknown:
        raise InvalidLandmarks(f"unknown landmark {unknown[0][:60]!r}; known are {', '.join(LANDMARK_IDS)}.")
    placed = {name: point_from_json(entry, name) for name, entry in entries.items()}
    return LandmarkSet(
        points={name: point for name, point in placed.items() if point is not None},
        head_yaw=_head_yaw(whole),
        camera_elevation_deg=number_at(whole, "camera_elevation_deg", low=-90, high=90),
        body_view=_body_view(whole),
        scale=_scale(whole),
        gape=_gape(whole),
    )


def landmarks_to_json(landmarks: LandmarkSet) -> dict[str, Any]:
    """The set as a JSON value that `landmarks_from_json` reads back to an equal set."""
    yaw, scale = landmarks.head_yaw, landmarks.scale
    value: dict[str, Any] = {
        "landmarks": {name: point_to_json(point) for name, point in landmarks.points.items()},
        "head_yaw_deg": yaw.deg if yaw else None,
        "head_yaw_sigma_deg": yaw.sigma_deg if yaw else None,
        "mm_per_pixel": scale.mm_per_pixel if scale else None,
        "mm_per_pixel_sigma": scale.sigma if scale else None,
        "camera_elevation_deg": landmarks.camera_elevation_deg,
        "body_view": landmarks.body_view.name.lower(),
    }
    return value | ({"head_yaw_by": yaw.by} if yaw else {}) | _gape_to_json(landmarks.gape)


def point_to_json(point: Point) -> dict[str, Any]:
    """`{"x", "y", "sigma", "visibility", "by"}`."""
    return {
        "x": point.x,
        "y": point.y,
        "sigma": point.sigma,
        "visibility": int(point.visibility),
        "by": point.by,
    }


def point_from_json(value: object, name: str) -> Point | None:
    """The point called `name`, or None where its visibility is 0; raises InvalidLandmarks."""
    entry = mapping_at(value, name)
    only_keys(entry, _POINT_KEYS, name)
    visibility = number_at(entry, "visibility", where=name)
    if visibility not in (None, 0, 1, 2):
        raise InvalidLandmarks(f"{name}: visibility must be 0, 1 or 2, got {visibility:g}.")
    if visibility == 0:
        return None
    x, y = (number_at(entry, key, where=name, low=-1e6, high=1e6) for key in ("x", "y"))
    if x is None or y is None:
        raise InvalidLandmarks(f"{name}: both x and y must be numbers.")
    sigma = number_at(entry, "sigma", where=name, above=0, high=1e6)
    by = text_at(entry, "by", "file", where=name)
    return Point(x=x, y=y, sigma=sigma, visibility=Visibility(int(visibility or 2)), by=by)


def _head_yaw(whole: Mapping[str, object]) -> HeadYaw | None:
    deg = number_at(whole, "head_yaw_deg", low=0, high=180)
    sigma = number_at(whole, "head_yaw_sigma_deg", above=0, high=180)
    if deg is None:
        return None
    return HeadYaw(deg=deg, sigma_deg=sigma or STUDENT_YAW_SIGMA_DEG, by=text_at(whole, "head_yaw_by", "file"))


def _gape(whole: Mapping[str, object]) -> GapeReading | None:
    if whole.get("gape_reading") is None:
        return None
    entry = mapping_at(whole["gape_reading"], "gape_reading")
    only_keys(entry, _GAPE_KEYS, "gape_reading")
    deg = number_at(entry, "deg", where="gape_reading", low=0, high=180)
    sigma = number_at(entry, "sigma_deg", where="gape_reading", above=0, high=180)
    if deg is None or sigma is None:
        raise InvalidLandmarks("gape_reading: both deg and sigma_deg must be numbers.")
    return GapeReading(deg=deg, sigma_deg=sigma, by=text_at(entry, "by", "file", where="gape_reading"))


def _gape_to_json(gape: GapeReading | None) -> dict[str, Any]:
    return {} if gape is None else {"gape_reading": {"deg": gape.deg, "sigma_deg": gape.sigma_deg, "by": gape.by}}


def _scale(whole: Mapping[str, object]) -> Scale | None:
    mm = number_at(whole, "mm_per_pixel", above=0, high=1000)
    sigma = number_at(whole, "mm_per_pixel_sigma", low=0, high=1000)
    return None if mm is None else Scale(mm_per_pixel=mm, sigma=sigma or 0.0)


def _body_view(whole: Mapping[str, object]) -> BodyView:
    word = text_at(whole, "body_view", "unknown")
    known = {view.name.lower(): view for view in BodyView}
    if word not in known:
        raise InvalidLandmarks(f"body_view must be one of {', '.join(known)}, got {word!r}.")
    return known[word]
