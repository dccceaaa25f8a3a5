"""What the browser is told: one JSON object, all places as shares of the photo's width and height."""

from collections.abc import Mapping, Sequence
from typing import Any

from screens.editor.value import Pin, PinItem
from screens.language import _
from vision.landmarks import LANDMARK_NAMES, HeadYaw, LandmarkSet


def points_payload(landmarks: LandmarkSet, width: int, height: int) -> dict[str, dict[str, Any]]:
    """Each point as shares, with its visibility, its sigma in pixels and who placed it."""
    return {
        name: {
            "x": point.x / width,
            "y": point.y / height,
            "v": int(point.visibility),
            "sigma": point.sigma,
            "by": point.by,
        }
        for name, point in landmarks.points.items()
    }


def yaw_payload(yaw: HeadYaw | None) -> dict[str, Any] | None:
    """Head yaw in degrees, or None."""
    return None if yaw is None else {"deg": yaw.deg, "sigma": yaw.sigma_deg, "by": yaw.by}


def pins_payload(pins: Mapping[str, Pin]) -> dict[str, dict[str, Any]]:
    """Each pin with its letter and label."""
    return {
        name: {"x": pin.spot.x, "y": pin.spot.y, "short": pin.short, "label": pin.label, "reference": pin.of_reference}
        for name, pin in pins.items()
    }


def box_payload(box: tuple[float, float, float, float] | None, width: int, height: int) -> list[float] | None:
    """A box of pixels as shares."""
    return None if box is None else [box[0] / width, box[1] / height, box[2] / width, box[3] / height]


def landmarks_payload(landmarks: LandmarkSet, width: int, height: int) -> dict[str, Any]:
    """Everything about a set of landmarks that the browser computes with."""
    return {
        "points": points_payload(landmarks, width, height),
        "yaw": yaw_payload(landmarks.head_yaw),
        "elevation": landmarks.camera_elevation_deg,
        "bodyView": int(landmarks.body_view),
        "gape": None if landmarks.gape is None else {"deg": landmarks.gape.deg, "by": landmarks.gape.by},
        "mmPerPixel": None if landmarks.scale is None else landmarks.scale.mm_per_pixel,
    }


def pin_item_payload(item: PinItem | None) -> dict[str, str] | None:
    """The item that the next click pins."""
    return None if item is None else {"id": item.id, "label": item.label, "short": item.short}


def asked_payload(ask: Sequence[str]) -> list[dict[str, str]]:
    """The landmarks to place, in order, with their plain names."""
    return [{"id": name, "name": _(LANDMARK_NAMES[name])} for name in ask]
