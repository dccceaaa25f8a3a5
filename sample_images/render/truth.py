"""What is true of a scene: landmarks in the picture, whether each can be seen, and the measures."""

from math import acos, degrees

import numpy as np

from .camera import unit
from .doll import beside_corner
from .props import areola_ring
from .scene import Built, Scene
from .tracer import as_warp_mesh, cast_rays

#: A landmark counts as seen where the first thing on the way from the camera lies at most this far in front of it.
SEEN_WITHIN = 0.004

#: Further where something thin may lie in front: the romper over shoulder and hip, the near half of a lip or of the
#: breast over a point of the midline, whose outline the side view shows at the same place.
SEEN_WITHIN_OF = {
    "shoulder": 0.022, "hip": 0.03, "upper_lip_edge": 0.009, "lower_lip_edge": 0.009, "nose_tip": 0.006,
    "chin": 0.009, "areola_above": 0.006, "areola_below": 0.006, "breast_at_nose": 0.012, "breast_at_chin": 0.012,
}  # fmt: skip


def _angle_deg(a: np.ndarray, b: np.ndarray) -> float:
    return degrees(acos(float(np.clip(unit(a) @ unit(b), -1, 1))))


def first_hit(model, eye: np.ndarray, places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far in front of each place (n, 3) the view is stopped, metres (0 = seen), and the part that stops it."""
    mesh = as_warp_mesh(model.vertices, model.faces)
    rel = places - eye
    d = np.linalg.norm(rel, axis=1)
    t, face = cast_rays(mesh, np.tile(eye, (len(places), 1)), rel / d[:, None])
    return d - t, np.where(face >= 0, model.part_of_face[face], -1)


def corner_seen(built: Built, model) -> bool:
    """Whether the mouth corner, or the skin's outline right beside it (2.5 mm in the picture), can be seen."""
    corner = built.landmarks["mouth_corner"]
    near = np.vstack([corner, beside_corner(built.doll.base, built.side)])
    blocked, _ = first_hit(model, built.camera.eye, near)
    pixels = built.camera.project(near)
    off_mm = np.linalg.norm(pixels - pixels[0], axis=1) * built.camera.mm_per_pixel(corner)
    return bool(((blocked < 0.0025) & (off_mm < 2.5)).any())


def areola_places(built: Built, model) -> dict[str, np.ndarray]:
    """The areola's edge furthest beyond each lip that the camera sees; the lip's own place where none is in sight."""
    ring = areola_ring(built.frame, built.breast, built.breast_part)
    places = built.breast_part.vertices[ring]
    blocked, _ = first_hit(model, built.camera.eye, places)
    seen = places[blocked < 0.0015]
    out = {}
    for name, lip, sign in (("areola_above", "upper_lip_edge", 1), ("areola_below", "lower_lip_edge", -1)):
        at = built.landmarks[lip]
        beyond = sign * ((seen - at) @ built.frame.u) if len(seen) else np.zeros(0)
        out[name] = seen[np.argmax(beyond)] if len(beyond) and beyond.max() > 0.001 else at
    return out


def breast_places(built: Built) -> dict[str, np.ndarray]:
    """The breast's surface nearest to nose tip and chin."""
    v = built.breast_part.vertices
    return {
        name: v[np.argmin(np.linalg.norm(v - built.landmarks[point], axis=1))]
        for name, point in (("breast_at_nose", "nose_tip"), ("breast_at_chin", "chin"))
    }


def gape_angle_deg(built: Built) -> float:
    """At the mouth corner between the free lip edges, in the head's sagittal plane (its lateral parts left out)."""
    forward, up, _ = built.head.T
    flat = {k: np.array([p @ forward, p @ up]) for k, p in built.landmarks.items()}
    corner = flat["mouth_corner"]
    return _angle_deg(flat["upper_lip_edge"] - corner, flat["lower_lip_edge"] - corner)


def truth(scene: Scene, built: Built, model) -> dict:
    """The sample's JSON, without its key."""
    places = {**built.landmarks, **breast_places(built)}
    if scene.phase == "at_breast":
        places |= areola_places(built, model)
    names = list(places)
    stacked = np.array([places[n] for n in names])
    blocked, _ = first_hit(model, built.camera.eye, stacked)
    pixels = built.camera.project(stacked)
    w, h = built.camera.width, built.camera.height
    landmarks = {}
    for name, xy, stop in zip(names, pixels, blocked, strict=True):
        if not (0 <= xy[0] < w and 0 <= xy[1] < h):
            continue
        seen = corner_seen(built, model) if name == "mouth_corner" else stop < SEEN_WITHIN_OF.get(name, SEEN_WITHIN)
        landmarks[name] = {"x": round(float(xy[0]), 1), "y": round(float(xy[1]), 1), "visibility": 2 if seen else 1}
    forward, up, _ = built.head.T
    mouth = (places["upper_lip_edge"] + places["lower_lip_edge"]) / 2
    to_camera = unit(built.camera.eye - mouth)
    true = measures(landmarks, places, built)
    return {
        "landmarks": landmarks,
        "head_yaw_deg": round(_angle_deg(forward, to_camera), 2),
        "camera_elevation_deg": round(90 - _angle_deg(up, to_camera), 2),
        "body_view": scene.body_view,
        "mm_per_pixel": round(built.camera.mm_per_pixel(mouth), 4),
        "true": true,
    }


def measures(landmarks: dict, places: dict[str, np.ndarray], built: Built) -> dict[str, float | None]:
    """True measures: gape and gaps in space, the body line in the picture; None where a point is not in the picture."""
    eye = {k: built.camera.project(p)[0] for k, p in places.items()}
    face_mm = np.linalg.norm((places["nose_tip"] - places["ear"])[None] @ built.head[:, :2]) * 1000
    out: dict[str, float | None] = {"gape_angle": round(gape_angle_deg(built), 2)}
    line = [k in landmarks for k in ("ear", "shoulder", "hip")]
    out["alignment_angle"] = out["head_deviation"] = None
    if all(line):
        ear, shoulder, hip = (eye[k] for k in ("ear", "shoulder", "hip"))
        alignment = _angle_deg(np.append(ear - shoulder, 0), np.append(hip - shoulder, 0))
        along, nose = shoulder - hip, eye["nose_tip"] - ear
        off = ear - hip
        side = np.sign(along[0] * off[1] - along[1] * off[0])
        nose_side = np.sign(along[0] * nose[1] - along[1] * nose[0])
        out["alignment_angle"] = round(alignment, 2)
        out["head_deviation"] = round(float((180 - alignment) * (1 if side == nose_side else -1)), 2)
    opening = np.linalg.norm(places["upper_lip_edge"] - places["lower_lip_edge"]) * 1000
    out["mouth_opening_mm"] = round(float(opening), 2)
    out["face_size_mm"] = round(float(face_mm), 2)
    for name, point, touch in (("nose_gap", "nose_tip", "breast_at_nose"), ("chin_gap", "chin", "breast_at_chin")):
        gap = np.linalg.norm(places[point] - places[touch]) * 1000
        out[f"{name}_mm"] = round(float(gap), 2)
        out[name] = round(float(gap / face_mm * 100), 2)
    out["areola_balance"] = None
    if "areola_above" in places:
        above = np.linalg.norm(places["areola_above"] - places["upper_lip_edge"])
        below = np.linalg.norm(places["areola_below"] - places["lower_lip_edge"])
        out["areola_balance"] = round(float(above / (above + below)), 3) if above + below > 1e-4 else None
    return out
