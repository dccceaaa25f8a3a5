"""The parametric body in a batch: shapes blended, expressions added, bones turned, skin and romper coloured."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import torch
from torch import Tensor

from vision.training.anatomy import Anatomy
from vision.training.cloth import dressed, neighbours
from vision.training.limbs import turn_limbs
from vision.training.renderer import Mesh
from vision.training.rng import Draws, rotation
from vision.training.solids import CAVITY, CLOTH, EYE, HAIR, IRIS, LIP, SKIN

_ORDER = ("mouth_corner", "upper_lip_edge", "lower_lip_edge", "nose_tip", "chin", "ear", "shoulder", "hip")
#: Lateral place of the body's plane of symmetry in the exported axes, metres.
_MID_Z = -0.0022


@dataclass(frozen=True, kw_only=True)
class BodyData:
    """The exported arrays on one device; see `body_export`."""

    neutral: Tensor
    shapes: Tensor
    joints: Tensor
    actions: Tensor
    weights: Tensor
    parents: tuple[int, ...]
    faces: Tensor
    beside: Tensor
    marks: Tensor
    arm: Tensor
    leg: Tensor
    inside: Tensor
    eyes: Tensor
    action_names: tuple[str, ...]
    bone_names: tuple[str, ...]


@cache
def load_body(path: Path, device: torch.device, *, held_out: bool = False) -> BodyData:
    """The body; the last fifth of its shapes is kept for testing."""
    with np.load(path) as file:
        z = {name: file[name] for name in file.files}
    n_test = len(z["shapes"]) // 5
    chosen = slice(-n_test, None) if held_out else slice(0, -n_test)
    names = list(z["mark_names"])
    v = len(z["neutral"])

    def vertex_flag(face_flag: np.ndarray) -> Tensor:
        flag = np.zeros(v, bool)
        flag[z["faces"][face_flag].ravel()] = True
        return torch.tensor(flag, device=device)

    def on(a: np.ndarray) -> Tensor:
        return torch.tensor(a, device=device)

    marks = z["marks"][:, [names.index(k) for k in _ORDER]]
    return BodyData(
        neutral=on(z["neutral"]), shapes=on(z["shapes"][chosen]), joints=on(z["joints"][chosen]),
        actions=on(z["actions"]), weights=on(z["weights"].astype(np.float32)), parents=tuple(int(p) for p in z["parents"]),
        faces=on(z["faces"]), beside=on(neighbours(z["faces"], v)), marks=on(marks.astype(np.int64)), arm=on(z["arm"]), leg=on(z["leg"]),
        inside=vertex_flag(z["inside"]), eyes=vertex_flag(z["eyes"]), action_names=tuple(z["action_names"]),
        bone_names=tuple(z["bone_names"]),
    )  # fmt: skip


def _expression(d: Draws, body: BodyData) -> Tensor:
    """(n, actions): mouths from closed to wide, lips turned out or rolled in, cheeks, lids."""
    amount = {name: torch.zeros(d.n, device=d.device) for name in body.action_names}
    wide = torch.where(d.chance(0.12), d.uniform(0, 0.04), d.uniform(0.03, 0.66))
    flare = torch.where(d.chance(0.25), 0.0, d.uniform(0, 1.1))
    amount["jawOpen"] = wide
    amount["mouthFunnel"] = flare * d.uniform(0.05, 0.5)
    amount["mouthPucker"] = d.uniform(0, 0.5) * d.chance(0.25)
    for a, b, top in (
        ("mouthLowerDownLeft", "mouthLowerDownRight", 0.5), ("mouthUpperUpLeft", "mouthUpperUpRight", 0.6),
    ):  # fmt: skip
        amount[a] = flare * d.uniform(0, top)
        amount[b] = amount[a] + d.normal(0, 0.05)
    amount["mouthRollLower"] = d.uniform(0, 0.8) * d.chance(0.22)
    amount["mouthRollUpper"] = d.uniform(0, 0.7) * d.chance(0.18)
    for name, top in (
        ("mouthShrugLower", 0.5),
        ("mouthShrugUpper", 0.4),
        ("cheekPuff", 0.8),
        ("jawForward", 0.6),
        ("browInnerUp", 0.8),
    ):
        amount[name] = d.uniform(0, top) * d.chance(0.25)
    for stem, top in (
        ("mouthStretch", 0.4),
        ("mouthSmile", 0.35),
        ("mouthFrown", 0.4),
        ("mouthPress", 0.3),
        ("noseSneer", 0.5),
        ("browDown", 0.7),
    ):
        side = d.uniform(0, top) * d.chance(0.2)
        amount[stem + "Left"], amount[stem + "Right"] = side, side
    lids = torch.where(d.chance(0.6), d.uniform(0.8, 1.0), d.uniform(0, 0.3))
    amount["eyeBlinkLeft"], amount["eyeBlinkRight"] = lids, lids
    return torch.stack([amount[name] for name in body.action_names], dim=1)


def _turns(d: Draws, body: BodyData, joints: Tensor) -> Tensor:
    """(n, bones, 3, 3): each bone's turn against its parent, in the body's axes."""
    names = body.bone_names
    out = torch.eye(3, device=d.device).repeat(d.n, len(names), 1, 1)
    flexion, tilt = d.normal(-3, 15), d.normal(0, 9)
    turn = torch.where(d.chance(0.22), d.normal(0, 38, cut=1.8), d.normal(0, 9))
    neck = d.normal(-6, 12)  # the neck's alone, made up for by the head
    for name, more in (("neck01", neck / 3), ("neck02", neck / 3), ("neck03", neck / 3), ("head", -neck)):
        share = rotation("z", -flexion / 4 - more) @ rotation("y", turn / 4) @ rotation("x", tilt / 4)
        out[:, names.index(name)] = share
    curled = torch.where(d.chance(0.25), d.uniform(-12, 45), d.normal(8, 12))
    curl = rotation("z", -curled / 5) @ rotation("y", d.normal(0, 8) / 5) @ rotation("x", d.normal(0, 6) / 5)
    for name in ("spine05", "spine04", "spine03", "spine02", "spine01"):
        out[:, names.index(name)] = curl
    for side, sign in (("L", -1.0), ("R", 1.0)):
        # Rest arms point down and out; forward is a turn about y away from the side, in is one about x.
        arm = (
            rotation("y", sign * d.uniform(-20, 70))
            @ rotation("x", sign * d.uniform(-10, 45))
            @ rotation("z", d.normal(0, 25))
        )
        out[:, names.index(f"upperarm01.{side}")] = arm
        out[:, names.index(f"lowerarm01.{side}")] = rotation("z", d.uniform(0, 90)) @ rotation(
            "y", sign * d.uniform(0, 50)
        )
        thigh = rotation("z", d.uniform(-5, 100)) @ rotation("x", -sign * d.normal(8, 14))
        out[:, names.index(f"upperleg01.{side}")] = thigh
        out[:, names.index(f"lowerleg01.{side}")] = rotation("z", -d.uniform(0, 95))
        out[:, names.index(f"foot.{side}")] = rotation("z", d.normal(0, 20))
    turn_limbs(d, body.bone_names, joints, out)
    return out


def _colours(d: Draws, body: BodyData, mats: Tensor) -> tuple[Tensor, Tensor]:
    """(n, v, 4) colour and material of each vertex, and which vertices are cloth (n, v)."""
    p = body.neutral[None]
    side = (p[..., 2] - _MID_Z).abs()
    ramp = lambda x, lo, hi: ((x - lo) / (hi - lo)).clamp(0, 1)  # noqa: E731 - a formula, used five times below
    x = (side / 0.0165).clamp(0, 1)
    high = 0.0061 * torch.sqrt(1 - x**2)
    lip = (1 - ramp((p[..., 1] - 0.2400).abs() - high, -0.001, 0.0012)) * (p[..., 0] > 0.055) * (side < 0.0165)
    neck = 0.203 + d.normal(0, 0.006)[:, None]
    cloth = p[..., 1] < neck - ramp(side, 0.05, 0.02) * 0.01
    sleeve_end = torch.where(d.chance(0.7), d.uniform(0.17, 0.28), d.uniform(0.03, 0.12))[:, None]
    along_arm = (side - 0.064) * 0.66 + (0.182 - p[..., 1]) * 0.75
    cloth = torch.where(body.arm[None] > 0.5, along_arm < sleeve_end, cloth)
    leg_end = torch.where(d.chance(0.65), d.uniform(0.15, 0.32), d.uniform(-0.02, 0.08))[:, None]
    cloth = torch.where(body.leg[None] > 0.5, p[..., 1] > -leg_end, cloth)
    naked = d.chance(0.1)[:, None] & (p[..., 1] > 0.03)
    cloth = cloth & ~naked
    line = 0.30 + 0.045 * ramp(p[..., 0], -0.02, 0.09) - 0.05 * ramp(-p[..., 0], 0.0, 0.04)
    hair = ramp(p[..., 1] - line - d.normal(0, 0.006)[:, None], -0.004, 0.006) * (side < 0.1)
    hair = hair * torch.where(d.chance(0.5), d.uniform(0.4, 1.0), 0.0)[:, None]

    def colour(index: int) -> Tensor:
        return mats[:, index, None, 0:3]

    blush = torch.exp(-((p[..., 0] - 0.062) ** 2 + (p[..., 1] - 0.246) ** 2 + (side - 0.038) ** 2) / 0.018**2)[
        ..., None
    ]
    out = colour(SKIN) * (1 - blush * d.uniform(0, 0.4, 1, 1) * torch.tensor([0.05, 0.5, 0.5], device=d.device))
    out = out + lip[..., None] * d.uniform(0.2, 1.0, 1, 1) * (colour(LIP) - out)
    out = out + hair[..., None] * (colour(HAIR) - out)
    brow_y = 0.296 - 9.0 * (side - 0.021) ** 2
    brow = torch.exp(-(((p[..., 1] - brow_y) / 0.0018) ** 2)) * (side > 0.011) * (side < 0.034) * (p[..., 0] > 0.04)
    out = out + (brow * 0.4)[..., None] * (colour(HAIR) - out)
    material = torch.full(out.shape[:2], float(SKIN), device=d.device)
    for flag, index in ((body.inside, CAVITY), (body.eyes, EYE)):
        out = torch.where(flag[None, :, None], colour(index), out)
        material = torch.where(flag[None], float(index), material)
    for sign in (-1.0, 1.0):
        ball = body.eyes & ((body.neutral[:, 2] - _MID_Z) * sign > 0)
        front = body.neutral[ball].max(dim=0).values
        centre = body.neutral[ball].mean(dim=0)
        pupil = (
            ball & ((body.neutral[:, 1:] - centre[1:]).norm(dim=1) < 0.0055) & (body.neutral[:, 0] > front[0] - 0.006)
        )
        out = torch.where(pupil[None, :, None], colour(IRIS), out)
    out = torch.where(cloth[..., None], colour(CLOTH), out)
    material = torch.where(cloth, float(CLOTH), material)
    return torch.cat([out, material[..., None]], dim=-1), cloth


def _skinned(d: Draws, body: BodyData, rest: Tensor, joints: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """Posed vertices in head axes (metres, head joint at its rest place), head and trunk turns."""
    turns = _turns(d, body, joints)
    world: list[tuple[Tensor, Tensor]] = []
    for i, parent in enumerate(body.parents):
        if parent < 0:
            world.append((turns[:, i], joints[:, i] - (turns[:, i] @ joints[:, i, :, None])[..., 0]))
            continue
        r, t = world[parent]
        own = turns[:, i]
        shift = joints[:, i] - (own @ joints[:, i, :, None])[..., 0]
        world.append((r @ own, (r @ shift[..., None])[..., 0] + t))
    head = body.bone_names.index("head")
    r, t = world[head]
    back = r.transpose(1, 2)
    moves = torch.stack([torch.cat([back @ a, (back @ (b - t)[..., None])], dim=2) for a, b in world], dim=1)
    mixed = torch.einsum("vb,nbk->nvk", body.weights, moves.flatten(2)).view(d.n, -1, 3, 4)
    posed = (mixed[..., :3] @ rest[..., None])[..., 0] + mixed[..., 3]
    chest = body.bone_names.index("spine03")
    return posed, r, back @ world[chest][0]


def body_dolls(d: Draws, body: BodyData, mats: Tensor) -> tuple[Anatomy, Mesh]:
    """A batch of bodies in head axes, lengths in face sizes."""
    i, j, t = d.whole(len(body.shapes)), d.whole(len(body.shapes)), d.uniform(0, 0.5)
    mix = lambda a: a[i].float() * (1 - t.view(-1, 1, 1)) + a[j].float() * t.view(-1, 1, 1)  # noqa: E731 - one formula
    rest, joints = mix(body.shapes), mix(body.joints)
    ears = rest[:, body.marks[:, 5, 0]]
    middle = ears.mean(dim=1)
    face = rest[:, body.marks[1, 3]].mean(dim=1)[:, 0] - middle[:, 0]
    rest = rest + torch.einsum("na,avk->nvk", _expression(d, body), body.actions.float())
    posed, _, trunk = _skinned(d, body, rest, joints)
    verts = (posed - middle[:, None]) / face.view(-1, 1, 1)
    places = verts[:, body.marks].mean(dim=3)  # (n, side, 8, 3)
    anatomy = Anatomy(right=places[:, 1], left=places[:, 0], trunk=trunk)
    colours, cloth = _colours(d, body, mats)
    verts, normals = dressed(d, body, verts, cloth)
    mesh = Mesh(verts=verts, normals=normals, colours=colours, neutral=body.neutral * 14, faces=body.faces)
    return anatomy, mesh
