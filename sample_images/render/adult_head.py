"""An adult's head: anny at an adult age with painted hair, cut off at the neck."""

from dataclasses import dataclass

import numpy as np

from .camera import unit
from .doll import body_model
from .dressing import face_labels, ramp
from .mesh import Part, loop_smooth, vertex_normals
from .tones import Tone

#: anny's own names and strengths.
ADULT = {"age": 0.68, "gender": 0.0, "weight": 0.5, "muscle": 0.5}
LOOK_DOWN = {"eyeBlinkLeft": 0.8, "eyeBlinkRight": 0.8, "mouthSmileLeft": 0.25, "mouthSmileRight": 0.25}


@dataclass(frozen=True, kw_only=True)
class AdultHead:
    """Where the head is, scene axes and metres.

    Parameters
    ----------
    at : (x, y, z)
        The middle of the head.
    faces, crown : (x, y, z)
        Directions of the face and of the crown.
    """

    at: tuple[float, float, float]
    faces: tuple[float, float, float]
    crown: tuple[float, float, float]
    tone: int | None = None


def _own_bones() -> np.ndarray:
    """True for the neck and every bone above it."""
    model = body_model()
    labels = list(model.bone_labels)
    own = np.zeros(len(labels), dtype=bool)
    for i, name in enumerate(labels):  # parents stand before children
        parent = model.bone_parents[i]
        own[i] = name == "neck01" or (parent >= 0 and own[parent])
    return own


def head_part(head: AdultHead, tone: Tone) -> Part:
    """The head as one part."""
    model = body_model()
    out = model(phenotype_kwargs=ADULT, facial_actions=LOOK_DOWN)
    v0 = out["vertices"][0].detach().numpy()
    weights, indices = model.vertex_bone_weights.detach().numpy(), model.vertex_bone_indices.detach().numpy()
    share = (weights * _own_bones()[indices]).sum(axis=1)
    faces0 = model.faces.detach().numpy()
    inside, eyes = face_labels()
    kept = (share[faces0] > 0.5).all(axis=1) & ~inside
    is_eye = eyes[kept]
    used, faces0 = np.unique(faces0[kept], return_inverse=True)
    v, faces = loop_smooth(v0[used], faces0.reshape(-1, 3))
    is_eye = np.repeat(is_eye, 4)
    top, front, back = v[:, 2].max(), v[:, 1].min(), v[:, 1].max()
    height = (v[:, 2] - (top - 0.22)) / 0.22
    depth = (v[:, 1] - front) / (back - front)
    line = np.interp(depth, [0, 0.12, 0.3, 0.42, 0.5, 0.6, 1], [0.9, 0.88, 0.78, 0.62, 0.45, 0.2, -0.1])
    strand = 0.012 * np.sin(v[:, 0] * 300 + 40 * v[:, 1]) + 0.01 * np.sin(v[:, 1] * 420 + v[:, 2] * 160)
    hair = ramp(height - line + strand, -0.02, 0.03)[:, None]
    streaks = 1 + 0.25 * np.sin(v[:, [0]] * 800 + v[:, [2]] * 500 + 3 * np.sin(v[:, [1]] * 90))
    colour = tone.skin * (1 - hair) + tone.hair * streaks * hair
    lips = np.exp(-(((v[:, 2] - (top - 0.1945)) / 0.0055) ** 2 + (v[:, 0] / 0.02) ** 2)) * (depth < 0.14)
    colour = colour * (1 - lips[:, None]) + tone.lip * lips[:, None]
    v = v + vertex_normals(v, faces) * hair * (0.012 + 0.002 * np.sin(v[:, [0]] * 260 + v[:, [1]] * 120))
    middle = np.array([0.0, (front + back) / 2, top - 0.11])
    forward = unit(head.faces)
    up = np.asarray(head.crown, dtype=float)
    up = unit(up - forward * (up @ forward))
    rel = v - middle  # model axes: x to the left, y to the back, z up
    placed = np.outer(-rel[:, 1], forward) + np.outer(rel[:, 2], up) - np.outer(rel[:, 0], np.cross(forward, up))
    materials = np.where(is_eye, "eye", np.where(hair[faces].mean(axis=(1, 2)) > 0.5, "wall", "skin"))
    return Part(
        name="adult_head", vertices=placed + np.asarray(head.at, dtype=float), faces=faces, texture=v, colour=colour,
        face_materials=materials,
    )  # fmt: skip
