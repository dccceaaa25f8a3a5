"""The baby doll: anny at age 0, posed, with a skin of vinyl and a romper of cloth.

Model axes (anny): x to the doll's left, y to its back, z up, metres. Scene axes: x forward, y up along the doll, z to
its right; `scene_axes` turns the one into the other.
"""

from dataclasses import dataclass, field
from functools import lru_cache

import anny
import numpy as np
import torch

from .camera import turn_about, unit

#: Vertex ids of the 13,718-vertex anny mesh, chosen by looking at pictures with the vertices drawn in. "left" and
#: "right" are the doll's own; ids of one side are mirrored to the other in the rest shape. Two ids: their middle.
LANDMARK_VERTICES: dict[str, tuple[int, ...]] = {
    "mouth_corner": (7146,),
    "upper_lip_edge": (474, 520),
    "lower_lip_edge": (523, 540),
    "nose_tip": (297, 5038),
    "chin": (733, 724),
    "ear": (12146,),
    "shoulder": (1608,),
    "hip": (4274,),
}

#: On which side of the doll the single ids above lie; the others are on the midline.
LISTED_SIDE = {"mouth_corner": "left", "ear": "left", "shoulder": "right", "hip": "right"}

#: The doll's left: skin from its mouth corner outwards. In a side view the full cheek stands a millimetre or two in front of
#: the corner; the outline at which the lips go out of sight there is where one sees the corner.
BESIDE_CORNER = (7113, 7123, 7419)

#: x of the head's plane of symmetry in model axes.
MID_X = 0.0022


@dataclass(frozen=True, kw_only=True)
class Pose:
    """Joint angles in degrees; limbs by the direction they point to in model axes relative to the trunk.

    Parameters
    ----------
    head_flexion_deg, head_turn_deg, head_tilt_deg
        Chin to chest, to the doll's left, to its left shoulder; shared out over the neck and the head.
    neck_flexion_deg
        Of the neck alone; the head makes up for it and keeps its direction.
    trunk_flexion_deg, trunk_twist_deg
        Curl forward, shoulders to the doll's left; shared out over the spine.
    limbs
        Bone name to direction.
    """

    head_flexion_deg: float = 0.0
    neck_flexion_deg: float = 0.0
    head_turn_deg: float = 0.0
    head_tilt_deg: float = 0.0
    trunk_flexion_deg: float = 10.0
    trunk_twist_deg: float = 0.0
    limbs: dict[str, tuple[float, float, float]] = field(default_factory=dict)


@lru_cache(maxsize=1)
def body_model() -> anny.Anny:
    """anny with all facial actions and local changes (built once, then kept in its cache)."""
    return anny.Anny(facial_actions="all", local_changes="all")


def _arc(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Smallest rotation that takes direction a to direction b."""
    a, b = unit(a), unit(b)
    axis = np.cross(a, b)
    s = np.linalg.norm(axis)
    if s < 1e-9:
        return np.eye(3)
    return turn_about(axis, float(np.degrees(np.arctan2(s, a @ b))))


def _deltas(pose: Pose, rest: dict[str, np.ndarray], parents: dict[str, str | None]) -> dict[str, torch.Tensor]:
    """Rotation of each posed bone relative to its parent, in world-aligned axes."""
    local: dict[str, np.ndarray] = {}
    neck = ["neck01", "neck02", "neck03", "head"]
    for bone in neck:
        share = 0.25
        neck_deg = pose.neck_flexion_deg * (-1 if bone == "head" else 1 / 3)
        local[bone] = (
            turn_about((0, 0, 1), pose.head_turn_deg * share)
            @ turn_about((0, 1, 0), pose.head_tilt_deg * share)
            @ turn_about((1, 0, 0), pose.head_flexion_deg * share + neck_deg)
        )
    for bone in ["spine05", "spine04", "spine03", "spine02", "spine01"]:
        local[bone] = turn_about((0, 0, 1), pose.trunk_twist_deg / 5) @ turn_about(
            (1, 0, 0), pose.trunk_flexion_deg / 5
        )

    def world(bone: str | None) -> np.ndarray:
        if bone is None:
            return np.eye(3)
        return world(parents[bone]) @ local.get(bone, np.eye(3))

    for bone, direction in pose.limbs.items():  # parents stand before children
        above = world(parents[bone])
        base = world("spine02") if bone.startswith(("upperarm", "lowerarm", "wrist")) else np.eye(3)
        local[bone] = above.T @ _arc(above @ rest[bone], base @ np.asarray(direction)) @ above
    out = {}
    for bone, rotation in local.items():
        t = torch.eye(4, dtype=torch.float64)[None].clone()
        t[0, :3, :3] = torch.tensor(rotation)
        out[bone] = t
    return out


@dataclass(frozen=True, kw_only=True)
class Shape:
    """The doll's shape and face.

    Parameters
    ----------
    phenotype, local_changes, face : mappings
        anny's own names and strengths.
    length_scale : float
        Factor on all lengths (anny's baby is 0.67 m long).
    """

    phenotype: dict[str, float]
    local_changes: dict[str, float]
    face: dict[str, float]
    length_scale: float = 0.86


def posed(shape: Shape, pose: Pose) -> tuple[np.ndarray, np.ndarray]:
    """Rest and posed vertices in model axes, metres, (13718, 3) each."""
    model = body_model()
    arguments = {
        "phenotype_kwargs": {"age": 0.0, **shape.phenotype},
        "local_changes_kwargs": shape.local_changes,
        "facial_actions": shape.face,
    }
    rest = model(**arguments)
    labels = list(model.bone_labels)
    heads = {b: rest["bone_poses"][0, i, :3, 3].detach().numpy() for i, b in enumerate(labels)}
    parents = {b: (labels[model.bone_parents[i]] if model.bone_parents[i] >= 0 else None) for i, b in enumerate(labels)}
    ends = {"upperarm01": "lowerarm01", "lowerarm01": "wrist", "upperleg01": "lowerleg01", "lowerleg01": "foot"}
    directions = {}
    for bone in pose.limbs:
        stem, side = bone.split(".")
        if stem in ends:
            directions[bone] = heads[f"{ends[stem]}.{side}"] - heads[bone]
        else:
            directions[bone] = rest["bone_poses"][0, labels.index(bone), :3, 1].detach().numpy()
    out = model(pose_parameters=_deltas(pose, directions, parents), **arguments)
    s = shape.length_scale
    return rest["vertices"][0].detach().numpy() * s, out["vertices"][0].detach().numpy() * s


def scene_axes(v: np.ndarray) -> np.ndarray:
    """Model axes to scene axes: forward, up, right."""
    return np.stack([-v[:, 1], v[:, 2], -v[:, 0]], axis=1)


@lru_cache(maxsize=1)
def mirrored_ids() -> np.ndarray:
    """For each vertex the vertex at its mirror place in the neutral shape."""
    from scipy.spatial import cKDTree

    v = body_model()(phenotype_kwargs={"age": 0.0})["vertices"][0].detach().numpy()
    flipped = v * [-1, 1, 1] + [2 * MID_X, 0, 0]
    return cKDTree(v).query(flipped)[1]


def landmark_places(vertices: np.ndarray, side: str) -> dict[str, np.ndarray]:
    """Places (3,) of the doll's own landmarks on the side towards the camera, from vertices (13718, 3)."""
    out = {}
    for name, ids in LANDMARK_VERTICES.items():
        chosen = list(ids)
        if LISTED_SIDE.get(name, side) != side:
            chosen = [int(mirrored_ids()[i]) for i in ids]
        out[name] = vertices[chosen].mean(axis=0)
    return out


def beside_corner(vertices: np.ndarray, side: str) -> np.ndarray:
    """Places (3, 3) of the skin just outside the mouth corner of one side."""
    ids = list(BESIDE_CORNER) if side == "left" else [int(mirrored_ids()[i]) for i in BESIDE_CORNER]
    return vertices[ids]


def head_axes(rest: np.ndarray, vertices: np.ndarray) -> np.ndarray:
    """Rotation matrix whose columns are the head's forward, up and right directions in scene axes."""
    n = body_model()(phenotype_kwargs={"age": 0.0})["vertices"][0].detach().numpy()
    skull = (n[:, 2] > 0.27) & (np.abs(n[:, 0]) < 0.09)
    a, b = scene_axes(rest[skull]), vertices[skull]
    u, _, vt = np.linalg.svd((a - a.mean(0)).T @ (b - b.mean(0)))
    d = np.diag([1, 1, np.sign(np.linalg.det(vt.T @ u.T))])
    return vt.T @ d @ u.T
