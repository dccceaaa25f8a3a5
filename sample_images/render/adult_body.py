"""An adult's clothed body from the neck down: anny at an adult age, arms laid along the sides."""

from dataclasses import dataclass

import numpy as np

from .camera import unit
from .doll import Pose, Shape, body_model, posed
from .mesh import Part, loop_smooth, vertex_normals
from .tones import Tone, linear

#: anny's own names and strengths.
ADULT = {"age": 0.68, "gender": 0.0, "weight": 0.55, "muscle": 0.5}
#: Where anny's adult has the root of its neck, model axes, metres.
NECK = np.array([0.0, 0.026, 0.6175])


@dataclass(frozen=True, kw_only=True)
class AdultBody:
    """Where the body is, scene axes and metres.

    Parameters
    ----------
    neck : (x, y, z)
        The root of the neck.
    faces, up : (x, y, z)
        Directions of the chest and of the head.
    colour : display colour of the cloth
    shrug : float
        How far the shoulders are drawn up towards the ears, metres.
    """

    neck: tuple[float, float, float]
    faces: tuple[float, float, float]
    up: tuple[float, float, float]
    colour: tuple[int, int, int]
    shrug: float = 0.0
    arms: tuple[tuple[float, float, float], ...] = ((0.2, 0.2, -1.0), (0.05, -0.05, -1.0))


def _share(stems: tuple[str, ...], side: str = "") -> np.ndarray:
    """How much of each vertex hangs on bones whose names begin and end like this."""
    model = body_model()
    own = np.array([name.startswith(stems) and name.endswith(side) for name in model.bone_labels])
    weights, indices = model.vertex_bone_weights.detach().numpy(), model.vertex_bone_indices.detach().numpy()
    return (weights * own[indices]).sum(axis=1)


def body_part(body: AdultBody, tone: Tone, seed: int) -> Part:
    """Trunk, shoulders and arms as one part: cloth, with bare neck and hands."""
    upper, lower = body.arms
    cloth = linear(body.colour)
    limbs = {
        "upperarm01.L": upper, "upperarm01.R": (-upper[0], *upper[1:]),
        "lowerarm01.L": lower, "lowerarm01.R": (-lower[0], *lower[1:]),
    }  # fmt: skip
    pose = Pose(
        head_flexion_deg=0, neck_flexion_deg=0, head_turn_deg=0, head_tilt_deg=0, trunk_flexion_deg=0, limbs=limbs
    )
    _, v0 = posed(Shape(phenotype=ADULT, local_changes={}, face={}, length_scale=1.0), pose)
    lift = _share(("clavicle", "shoulder01", "upperarm", "lowerarm", "wrist", "finger", "metacarpal"))
    v0 = v0 + np.array([0, 0, body.shrug]) * lift[:, None]
    trunk = _share(("spine", "clavicle", "shoulder01", "upperarm", "lowerarm", "wrist", "finger", "metacarpal", "breast",
                    "root", "pelvis", "upperleg", "neck01", "neck02"))  # fmt: skip
    far_arm = _share(("upperarm", "lowerarm", "wrist", "finger", "metacarpal"), ".R")
    faces0 = body_model().faces.detach().numpy()
    used, faces0 = np.unique(faces0[(trunk - far_arm > 0.5)[faces0].all(axis=1)].ravel(), return_inverse=True)
    bare = np.maximum(_share(("neck",)), _share(("wrist", "finger", "metacarpal")))[used]
    v, faces = loop_smooth(v0[used], faces0.reshape(-1, 3))
    bare = loop_smooth(np.repeat(bare[:, None], 3, axis=1), faces0.reshape(-1, 3))[0][:, 0]
    skin = np.clip((bare - 0.4) / 0.08, 0, 1)[:, None]
    rng = np.random.default_rng(seed)
    normals = vertex_normals(v, faces)
    fold = sum(
        0.0016 * np.sin(v @ rng.normal(0, 45, 3) + o + 2 * np.sin(30 * v[:, 2] + o)) for o in rng.uniform(0, 6, 5)
    )
    v = v + normals * (1 - skin) * (0.012 + fold)[:, None]
    forward = unit(body.faces)
    up = np.asarray(body.up, dtype=float)
    up = unit(up - forward * (up @ forward))
    rel = v - NECK
    placed = np.outer(-rel[:, 1], forward) + np.outer(rel[:, 2], up) - np.outer(rel[:, 0], np.cross(forward, up))
    return Part(
        name="adult_body", vertices=placed + np.asarray(body.neck, dtype=float), faces=faces,
        texture=np.column_stack([v[:, 0] - v[:, 1], v[:, 2], v[:, 2]]),
        colour=tone.skin * skin + cloth * (1 - skin),
        face_materials=np.where(skin[faces].mean(axis=(1, 2)) > 0.5, "skin", "jersey"),
    )  # fmt: skip
