"""An adult's forearm and hand in a sleeve: anny at an adult age, cut off above the elbow."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import torch

from .camera import turn_about, unit
from .doll import body_model
from .dressing import face_labels
from .mesh import Part, clipped, loop_smooth, relaxed, vertex_normals
from .tones import Tone

#: anny's own names and strengths of the adult.
ADULT = {"age": 0.68, "gender": 0.0, "weight": 0.55, "muscle": 0.5}


@dataclass(frozen=True, kw_only=True)
class Arm:
    """Where the forearm lies, scene axes and metres.

    Parameters
    ----------
    side : "left" or "right"
        The adult's own.
    elbow, wrist : (x, y, z)
        The wrist's place is exact, the elbow's only gives the direction.
    palm : (x, y, z)
        Direction that the palm faces.
    curl_deg : float
        Bend of each finger joint.
    bend_deg : float
        Bend of the wrist towards the palm.
    upper_arm : (x, y, z) or None
        Direction from the elbow to the shoulder; straight on where None.
    sleeve_from_wrist : float
        Bare skin above the wrist, metres.
    colour : display colour of the sleeve
    tone : int or None
        Skin tone of the hand, 1 to 8.
    """

    side: str
    elbow: tuple[float, float, float]
    wrist: tuple[float, float, float]
    palm: tuple[float, float, float]
    curl_deg: float = 20.0
    bend_deg: float = 0.0
    upper_arm: tuple[float, float, float] | None = None
    sleeve_from_wrist: float = 0.03
    colour: tuple[int, int, int] = (120, 120, 130)
    material: str = "jersey"
    tone: int | None = None


@lru_cache(maxsize=1)
def _rest() -> dict:
    out = body_model()(phenotype_kwargs=ADULT)
    return {k: v[0].detach().numpy() for k, v in out.items() if k in ("vertices", "bone_poses")}


def _bone(name: str) -> np.ndarray:
    return _rest()["bone_poses"][list(body_model().bone_labels).index(name), :3, 3]


def _posed(arm: Arm) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Adult vertices with the fingers bent; wrist; direction elbow to wrist; direction the palm faces (model axes)."""
    s = "L" if arm.side == "left" else "R"
    wrist, elbow = _bone(f"wrist.{s}"), _bone(f"lowerarm01.{s}")
    across = unit(_bone(f"finger2-1.{s}") - _bone(f"finger5-1.{s}"))
    along = unit(_bone(f"finger3-1.{s}") - wrist)
    palm = unit(np.cross(across, along)) * (-1 if s == "L" else 1)
    axis = np.cross(along, palm)
    pose = {}
    for finger in (2, 3, 4, 5):
        for joint in (1, 2, 3):
            t = torch.eye(4, dtype=torch.float64)[None].clone()
            t[0, :3, :3] = torch.tensor(turn_about(axis, arm.curl_deg * (0.6 if joint == 1 else 1.0)))
            pose[f"finger{finger}-{joint}.{s}"] = t
    for bone, deg in ((f"wrist.{s}", arm.bend_deg), (f"finger1-2.{s}", arm.curl_deg * 0.5)):
        t = torch.eye(4, dtype=torch.float64)[None].clone()
        t[0, :3, :3] = torch.tensor(turn_about(axis, deg))
        pose[bone] = t
    out = body_model()(pose_parameters=pose, phenotype_kwargs=ADULT)
    return out["vertices"][0].detach().numpy(), wrist, unit(wrist - elbow), palm


def _frame(along: np.ndarray, palm: np.ndarray) -> np.ndarray:
    palm = unit(palm - along * (palm @ along))
    return np.stack([along, palm, np.cross(along, palm)], axis=1)


def _length(side: str) -> float:
    s = "L" if side == "left" else "R"
    return float(np.linalg.norm(_bone(f"wrist.{s}") - _bone(f"lowerarm01.{s}")))


def _with_upper_arm(v: np.ndarray, arm: Arm, upwards: np.ndarray, length: float) -> np.ndarray:
    """What lies above the elbow, bent to the shoulder along a quarter of the forearm's length."""
    up = unit(np.subtract(arm.elbow, arm.wrist))
    elbow = np.asarray(arm.wrist) + up * length
    above = upwards - length
    axial = up * ((v - elbow) @ up)[:, None]
    rest = unit(axial[above > 0.1].mean(axis=0) + (v - elbow)[above > 0.1].mean(axis=0)) if (above > 0.1).any() else up
    target = up if arm.upper_arm is None else unit(arm.upper_arm)
    axis = np.cross(rest, target)
    angle = np.degrees(np.arctan2(np.linalg.norm(axis), rest @ target))
    share = np.clip((above + 0.04) / 0.08, 0, 1)
    share = share * share * (3 - 2 * share)
    out = v.copy()
    for level in np.linspace(0.05, 1, 20):  # small turns, each for the vertices that take part that far
        chosen = share >= level
        out[chosen] = (out[chosen] - elbow) @ turn_about(axis, angle / 20).T + elbow
    return out


def arm_parts(arm: Arm, tone: Tone, sleeve_colour: np.ndarray, seed: int) -> list[Part]:
    """The hand with its bare wrist, and the sleeve."""
    v0, wrist, along, palm = _posed(arm)
    model = body_model()
    labels = list(model.bone_labels)
    s = ".L" if arm.side == "left" else ".R"
    own = np.array(
        [b.endswith(s) and b.startswith(("upperarm", "lowerarm", "wrist", "finger", "metacarpal")) for b in labels]
    )
    weights, indices = model.vertex_bone_weights.detach().numpy(), model.vertex_bone_indices.detach().numpy()
    share = (weights * own[indices]).sum(axis=1)
    faces0 = model.faces.detach().numpy()
    inside, eyes = face_labels()
    faces0 = faces0[(share[faces0] > 0.5).all(axis=1) & ~(inside | eyes)]
    used, faces0 = np.unique(faces0, return_inverse=True)
    v, faces = loop_smooth(v0[used], faces0.reshape(-1, 3))
    turn = _frame(unit(np.subtract(arm.wrist, arm.elbow)), np.asarray(arm.palm, float)) @ _frame(along, palm).T
    upwards = (wrist - v) @ along  # metres from the wrist towards the elbow
    placed = (v - wrist) @ turn.T + np.asarray(arm.wrist, dtype=float)
    placed = _with_upper_arm(placed, arm, upwards, _length(arm.side))
    normals = vertex_normals(placed, faces)
    side = unit(np.cross(along, palm))
    off = v - wrist
    angle = np.arctan2(off @ side, off @ palm)
    places = np.stack([angle * 0.04, np.zeros(len(v)), upwards], axis=1)
    hand = Part(
        name="hand", vertices=placed, faces=faces, texture=v, normals=normals, material="skin",
        colour=np.tile(tone.skin, (len(v), 1)),
    )  # fmt: skip
    rng = np.random.default_rng(seed)
    gv, gf, ga, rim = clipped(
        placed, faces, upwards - arm.sleeve_from_wrist, {"m": normals, "p": places, "f": upwards[:, None]}
    )
    gv = relaxed(gv + ga["m"] * 0.006, gf, 12)
    along_sleeve = ga["f"][:, 0] - arm.sleeve_from_wrist
    fold = sum(
        0.0013 * np.sin(along_sleeve * k + 25 * ga["p"][:, 0] + o)
        for k, o in zip(rng.uniform(70, 210, 4), rng.uniform(0, 6, 4), strict=True)
    )
    gv = gv + vertex_normals(gv, gf) * ((fold + 0.004) * np.clip(along_sleeve / 0.03, 0, 1))[:, None]
    sleeve = Part(
        name="sleeve", vertices=gv, faces=gf, texture=ga["p"], colour=np.tile(sleeve_colour, (len(gv), 1)),
        material=arm.material,
    )  # fmt: skip
    i, k = np.arange(len(rim)) * 2, len(rim)
    strip = np.concatenate([gv[rim].reshape(-1, 3), (gv - ga["m"] * 0.006)[rim].reshape(-1, 3)])
    hem = Part(
        name="sleeve_hem", vertices=strip, material="cuff", texture=np.concatenate([ga["p"][rim].reshape(-1, 3)] * 2),
        faces=np.concatenate([np.stack([i, i + 1, i + 2 * k], 1), np.stack([i + 1, i + 1 + 2 * k, i + 2 * k], 1)]),
        normals=np.concatenate([ga["m"][rim].reshape(-1, 3)] * 2), colour=np.tile(sleeve_colour, (len(strip), 1)),
    )  # fmt: skip
    return [hand, sleeve, hem]
