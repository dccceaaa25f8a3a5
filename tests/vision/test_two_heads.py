"""Two babies in one photo: silence, or one of the two and nothing of the other; with a box the one in the box.

The photos are two of the shipped renders side by side; truth comes with them.
"""

import json
from functools import cache
from math import hypot
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from vision.detect import Box, Detection, default_detector
from vision.images import read_photo

FOLDER = Path(__file__).resolve().parents[2] / "sample_images"
HEAD = ("mouth_corner", "upper_lip_edge", "lower_lip_edge", "nose_tip", "chin", "ear")
PAIRS = [
    ("before_latch_side", "medium_side"),
    ("narrow_side", "before_wide_side"),
    ("cradle_side", "under_arm_side"),
    ("laid_back_side", "close_up_side"),
]
TRUNK = ("shoulder", "hip")
#: Points of the right head lie within these shares of the nose–ear distance of the truth, those of the other one are
#: four such distances away and more.
MOST_OFF = {**dict.fromkeys(HEAD, 0.3), **dict.fromkeys(TRUNK, 1.5)}
#: Of all the boxed heads at least this share is found.
LEAST_FOUND = 0.75


@cache
def shipped(name: str) -> tuple[np.ndarray, dict[str, Any]]:
    truth = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return read_photo((FOLDER / f"{name}.jpg").read_bytes()).pixels, truth


@cache
def both(left: str, right: str) -> tuple[np.ndarray, tuple[dict[str, tuple[float, float]], ...], tuple[Box, ...]]:
    """One photo of both, the head's points of each that lie in it, and a box around each head."""
    pixels, heads, boxes, shift = [], [], [], 0.0
    height = min(shipped(name)[0].shape[0] for name in (left, right))
    for name in (left, right):
        picture, truth = shipped(name)
        points = {
            k: (p["x"] + shift, p["y"]) for k, p in truth["landmarks"].items() if k in MOST_OFF and p["y"] < height
        }
        places = np.array([points[k] for k in HEAD if k in points])
        low, high = places.min(axis=0), places.max(axis=0)
        air = 0.8 * float((high - low).max())
        heads.append(points)
        boxes.append(
            Box(x=low[0] - air, y=low[1] - air, width=high[0] - low[0] + 2 * air, height=high[1] - low[1] + 2 * air)
        )
        pixels.append(picture[:height])
        shift += picture.shape[1]
    return np.ascontiguousarray(np.concatenate(pixels, axis=1)), tuple(heads), tuple(boxes)


def errors(found: Detection, head: dict[str, tuple[float, float]]) -> dict[str, float]:
    """Of the found points of the head, in shares of the distance from nose tip to ear."""
    size = hypot(*(a - b for a, b in zip(head["nose_tip"], head["ear"], strict=True)))
    points = found.landmarks.points
    return {
        name: hypot(points[name].x - x, points[name].y - y) / size for name, (x, y) in head.items() if name in points
    }


def near(off: dict[str, float]) -> bool:
    return all(value < MOST_OFF[name] for name, value in off.items())


@pytest.mark.parametrize("pair", PAIRS)
def test_without_a_box_one_head_is_taken_whole_or_none(pair: tuple[str, str]) -> None:
    pixels, heads, _ = both(*pair)
    found = default_detector().detect(pixels, None)
    if not any(name in found.landmarks.points for name in HEAD):
        assert found.notes
        return
    off = [errors(found, head) for head in heads]
    assert any(near(one) for one in off), f"points of both heads: {off}"


def test_a_box_says_whose_head_is_meant() -> None:
    answered = 0
    for pair in PAIRS:
        pixels, heads, boxes = both(*pair)
        for head, box in zip(heads, boxes, strict=True):
            off = errors(default_detector().detect(pixels, box), head)
            answered += "nose_tip" in off
            assert near(off), (pair, off)
    assert answered >= LEAST_FOUND * 2 * len(PAIRS)
