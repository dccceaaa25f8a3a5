"""Landmarks in the layout of COCO keypoint files, so that other programs can read them.

One image, one annotation, one category that carries the names of the keypoints in order; keypoints are x, y, v triples,
v = 0 not placed (then x = y = 0), 1 hidden, 2 seen; num_keypoints counts v > 0. What COCO has no place for (sigma, who
placed a point, head yaw, scale) stands in one extra part of the annotation, named by `EXTRA`.
"""

from collections.abc import Mapping
from typing import Any

from vision.errors import InvalidLandmarks
from vision.json_values import mapping_at
from vision.landmark_files import landmarks_from_json, landmarks_to_json
from vision.landmarks import LANDMARK_IDS, LandmarkSet, Point

EXTRA = "latch_and_line"

#: Pairs that a viewer may join by a line: COCO's "skeleton", which counts keypoints from 1.
_JOINED = (
    ("ear", "shoulder"),
    ("shoulder", "hip"),
    ("mouth_corner", "upper_lip_edge"),
    ("mouth_corner", "lower_lip_edge"),
)


def coco_from_landmarks(landmarks: LandmarkSet, *, file_name: str, width: int, height: int) -> dict[str, Any]:
    """A COCO keypoint file of one picture as a JSON value.

    Parameters
    ----------
    landmarks : LandmarkSet
    file_name : str
        What the file says the picture is called.
    width, height : int
        Pixels of the upright photo.
    """
    triples = [_triple(landmarks.get(name)) for name in LANDMARK_IDS]
    box = _bounding_box(landmarks)
    annotation = {
        "id": 1,
        "image_id": 1,
        "category_id": 1,
        "iscrowd": 0,
        "keypoints": [number for triple in triples for number in triple],
        "num_keypoints": len(landmarks.points),
        "bbox": box,
        "area": box[2] * box[3],
        EXTRA: landmarks_to_json(landmarks),
    }
    skeleton = [[LANDMARK_IDS.index(a) + 1, LANDMARK_IDS.index(b) + 1] for a, b in _JOINED]
    return {
        "images": [{"id": 1, "file_name": file_name, "width": width, "height": height}],
        "annotations": [annotation],
        "categories": [{"id": 1, "name": "baby", "keypoints": list(LANDMARK_IDS), "skeleton": skeleton}],
    }


def landmarks_from_coco(value: object) -> LandmarkSet:
    """The set in a COCO keypoint file of one annotation.

    The keypoints rule over the extra part, which only adds what they cannot say; a file without it is read too.

    Raises
    ------
    InvalidLandmarks
        With one sentence that names the part, the rule and what came.
    """
    whole = mapping_at(value, "a COCO file")
    annotation = _only_one(whole, "annotations")
    names = _list_at(_only_one(whole, "categories"), "keypoints")
    numbers = _list_at(annotation, "keypoints")
    if len(numbers) != 3 * len(names):
        raise InvalidLandmarks(f"keypoints must hold 3 numbers for each of {len(names)} names, got {len(numbers)}.")
    extra = dict(mapping_at(annotation.get(EXTRA, {"landmarks": {}}), EXTRA))
    kept = mapping_at(extra.get("landmarks", {}), "landmarks")
    entries = {}
    for place, name in enumerate(names):
        if not isinstance(name, str) or name in entries:
            raise InvalidLandmarks(f"the names of keypoints must be texts that differ, got {str(name)[:60]!r}.")
        x, y, visibility = numbers[3 * place : 3 * place + 3]
        more = mapping_at(kept.get(name, {}), name)
        entries[name] = {**more, "x": x, "y": y, "visibility": visibility}
    found = landmarks_from_json({**extra, "landmarks": entries})
    if annotation.get("num_keypoints", len(found.points)) != len(found.points):
        raise InvalidLandmarks(f"num_keypoints must be the {len(found.points)} that are placed.")
    return found


def _triple(point: Point | None) -> tuple[float, float, int]:
    return (0, 0, 0) if point is None else (point.x, point.y, int(point.visibility))


def _bounding_box(landmarks: LandmarkSet) -> list[float]:
    """x, y, width, height around all points; all 0 where none is placed."""
    xs = [point.x for point in landmarks.points.values()] or [0.0]
    ys = [point.y for point in landmarks.points.values()] or [0.0]
    return [min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)]


def _list_at(value: Mapping[str, object], key: str) -> list[object]:
    came = value.get(key)
    if not isinstance(came, list):
        raise InvalidLandmarks(f"{key} must be a list.")
    return came


def _only_one(whole: Mapping[str, object], key: str) -> Mapping[str, object]:
    came = _list_at(whole, key)
    if len(came) != 1:
        raise InvalidLandmarks(f"{key} must hold exactly one entry, got {len(came)}.")
    return mapping_at(came[0], f"the entry of {key}")
