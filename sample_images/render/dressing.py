"""Skin colours of the doll, its romper, and the two as parts of a scene."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from anny.face_segmentation import get_face_segmentation_mask

from .doll import MID_X, Pose, Shape, body_model, posed, scene_axes
from .mesh import Part, clipped, loop_smooth, relaxed, vertex_normals
from .tones import Tone


def ramp(x: np.ndarray, low: float, high: float) -> np.ndarray:
    """0 below low, 1 above high, smooth between."""
    t = np.clip((x - low) / (high - low), 0, 1)
    return t * t * (3 - 2 * t)


@lru_cache(maxsize=1)
def neutral() -> np.ndarray:
    """anny's baby without any action or change, model axes; the place where colours and cuts are defined."""
    return body_model()(phenotype_kwargs={"age": 0.0})["vertices"][0].detach().numpy()


@lru_cache(maxsize=1)
def limb_shares() -> tuple[np.ndarray, np.ndarray]:
    """For each vertex the share of the arm bones and of the leg bones in its skinning."""
    model = body_model()
    labels = list(model.bone_labels)
    arm = np.array([b.startswith(("upperarm", "lowerarm", "wrist", "finger", "metacarpal")) for b in labels])
    leg = np.array([b.startswith(("upperleg", "lowerleg", "foot", "toe")) for b in labels])
    weights = model.vertex_bone_weights.detach().numpy()
    indices = model.vertex_bone_indices.detach().numpy()
    return (weights * arm[indices]).sum(axis=1), (weights * leg[indices]).sum(axis=1)


@lru_cache(maxsize=1)
def face_labels() -> tuple[np.ndarray, np.ndarray]:
    """Which faces belong to the inside of the mouth (with the tongue), and which to the eyes."""
    model = body_model()
    inside = get_face_segmentation_mask(model, ["mouth_cavity", "tongue"])
    eyes = get_face_segmentation_mask(model, ["eye_back.L", "eye_front.L", "eye_back.R", "eye_front.R"])
    return np.asarray(inside), np.asarray(eyes)


def lip_share(n: np.ndarray) -> np.ndarray:
    """Share of lip colour at neutral places (n, 3)."""
    x = np.abs(n[:, 0] - MID_X) / 0.0150
    body = np.sqrt(np.clip(1 - x**2, 0, 1))
    bow = 1 + 0.12 * np.exp(-(((x - 0.25) / 0.15) ** 2)) - 0.1 * np.exp(-((x / 0.12) ** 2))
    z = n[:, 2] - 0.2399
    share = np.where(
        z > 0,
        ramp(0.0045 * body * bow - z, -0.0004, 0.0010),
        ramp(0.0050 * body + z, -0.0004, 0.0012),
    )
    return share * (x < 1.05) * (n[:, 1] < -0.055)


def skin_colours(n: np.ndarray, tone: Tone, rng: np.random.Generator, hair: bool) -> np.ndarray:
    """Linear colours at neutral places: blush, lips, painted hair."""
    colour = np.tile(tone.skin, (len(n), 1))
    x = np.abs(n[:, 0] - MID_X)

    def spot(cx, cy, cz, r):
        return np.exp(-(((x - cx) ** 2 + (n[:, 1] - cy) ** 2 + (n[:, 2] - cz) ** 2) / r**2))

    blush = 0.55 * spot(0.038, -0.062, 0.246, 0.016) + 0.35 * spot(0, -0.087, 0.261, 0.008)
    blush += 0.3 * spot(0.058, -0.005, 0.27, 0.02) + 0.25 * spot(0, -0.073, 0.227, 0.01)
    colour = colour * (1 - blush[:, None] * np.array([0.03, 0.26, 0.24]))
    lip = lip_share(n)[:, None] * 0.85
    colour = colour * (1 - lip) + tone.lip * lip
    if hair:
        line = np.interp(
            n[:, 1],
            [-0.09, -0.07, -0.05, -0.03, -0.012, 0.004, 0.018, 0.035, 0.06],
            [0.345, 0.338, 0.330, 0.318, 0.304, 0.292, 0.262, 0.242, 0.236],
        )
        fuzz = 0.0006 * rng.standard_normal(len(n))
        on_head = (n[:, 2] > 0.225) & (x < 0.09)
        share = (ramp(n[:, 2] - line + fuzz, -0.009, 0.011) * on_head * 0.72)[:, None]
        streaks = 1 + 0.18 * np.sin(n[:, [0]] * 900 + n[:, [1]] * 260 + 2 * np.sin(n[:, [2]] * 210))
        colour = colour * (1 - share) + tone.hair * streaks * share
    brow_z = 0.296 - 9.0 * (x - 0.021) ** 2 - 0.05 * (x - 0.021)
    brow = np.exp(-(((n[:, 2] - brow_z) / 0.0016) ** 2)) * ramp(x, 0.009, 0.013) * (1 - ramp(x, 0.030, 0.036))
    brow = (brow * (n[:, 1] < -0.045) * 0.3)[:, None]
    return colour * (1 - brow) + tone.hair * brow


@dataclass(frozen=True, kw_only=True)
class Romper:
    """The doll's garment: linear colours, cloth, lengths of sleeve and leg (shares of the limb covered)."""

    colour: np.ndarray
    colour2: np.ndarray
    cuff: np.ndarray
    material: str = "romper"
    sleeve: float = 0.85
    leg: float = 0.75


@dataclass(frozen=True, kw_only=True)
class Doll:
    """The doll in scene axes.

    Parameters
    ----------
    skin, romper : Part
    base : array (13718, 3)
        anny's vertices after one round of Loop smoothing, scene axes, metres: landmarks are read here.
    rest : array (13718, 3)
        The same vertices unposed, model axes scaled.
    """

    skin: Part
    romper: Part
    hem: Part
    base: np.ndarray
    rest: np.ndarray


def _garment_field(n: np.ndarray, arm: np.ndarray, leg: np.ndarray, romper: Romper) -> np.ndarray:
    """Above 0 where the romper covers the skin, about metres from its edge, at neutral places."""
    x = np.abs(n[:, 0])
    neck = np.where((arm > 0.5) | (n[:, 2] < 0.15), 0.1, 0.2005 + 0.10 * n[:, 1] - n[:, 2])
    along = (x - 0.064) * 0.66 + (0.182 - n[:, 2]) * 0.75
    sleeve = np.where(arm > 0.5, romper.sleeve * 0.19 - along, 0.1)
    leg_field = np.where(leg > 0.5, n[:, 2] - (-0.29 * romper.leg), 0.1)
    return np.minimum(np.minimum(neck, sleeve), leg_field)


def _wrinkles(n: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Folds of cloth in metres at neutral places, about -1 to 1 mm."""
    out = np.zeros(len(n))
    for scale, size in ((90, 0.0007), (150, 0.0005), (260, 0.0003)):
        for _ in range(3):
            direction = rng.normal(size=3) * [0.6, 0.6, 1.0]
            direction = direction / np.linalg.norm(direction)
            warp = 0.9 * np.sin(n @ rng.normal(size=3) * 55 + rng.uniform(0, 6))
            out += size * np.sin(n @ direction * scale + warp * 1.8 + rng.uniform(0, 6))
    return out


def cloth_places(n: np.ndarray, arm: np.ndarray, leg: np.ndarray) -> np.ndarray:
    """Texture places (n, 3) of the romper: round and along trunk or limb, metres; the seams between them show."""
    x = np.abs(n[:, 0])
    sign = np.sign(n[:, 0] + 1e-9)
    out = np.stack([np.arctan2(n[:, 0], -n[:, 1]) * 0.065, np.zeros(len(n)), n[:, 2]], axis=1)
    axis = np.array([0.64, -0.03, -0.76])
    rel = np.stack([x - 0.064, n[:, 1] - 0.013, n[:, 2] - 0.182], axis=1)
    along = rel @ axis
    off = rel - along[:, None] * axis
    round_arm = np.arctan2(off[:, 1], off @ np.array([0.76, 0.0, 0.64])) * 0.026 * sign
    round_leg = np.arctan2(n[:, 1] + 0.012, x - 0.042) * 0.036 * sign
    out[:, 0] = np.where(arm > 0.5, round_arm, np.where(leg > 0.5, round_leg, out[:, 0]))
    out[:, 2] = np.where(arm > 0.5, -along, out[:, 2])
    return out


def dressed(shape: Shape, pose: Pose, tone: Tone, romper: Romper, *, seed: int, hair: bool = True) -> Doll:
    """The posed doll with its romper."""
    rng = np.random.default_rng(seed)
    faces0 = body_model().faces.detach().numpy()
    rest0, posed0 = posed(shape, pose)
    arm0, leg0 = limb_shares()
    v, faces = loop_smooth(scene_axes(posed0), faces0)
    n, _ = loop_smooth(neutral(), faces0)
    shares, _ = loop_smooth(np.stack([arm0, leg0, np.zeros_like(arm0)], axis=1), faces0)
    inside0, eyes0 = face_labels()
    inside, eyes = np.repeat(inside0, 4), np.repeat(eyes0, 4)
    base = v[: len(rest0)]

    field = _garment_field(n, shares[:, 0], shares[:, 1], romper)
    body_normals = vertex_normals(v, faces)
    cloth_faces = faces[~(inside | eyes)]
    gv, gf, ga, rim = clipped(
        v,
        cloth_faces,
        field,
        {
            "n": n,
            "m": body_normals,
            "field": field[:, None],
            "body": v,
            "place": cloth_places(n, shares[:, 0], shares[:, 1]),
        },
    )
    puff = 0.0042 + 0.004 * ramp(ga["field"][:, 0], 0.0, 0.05)
    gv = gv + ga["m"] * puff[:, None]
    gv = relaxed(gv, gf, 14)
    gn = vertex_normals(gv, gf)
    gv = gv + gn * (_wrinkles(ga["n"], rng) * ramp(ga["field"][:, 0], 0.004, 0.03))[:, None]
    outside = np.sum((gv - ga["body"]) * ga["m"], axis=1)
    gv = gv + ga["m"] * np.maximum(0, 0.0022 - outside)[:, None]
    is_cuff = ga["field"][gf].mean(axis=1)[:, 0] < 0.011
    place = ga["place"][gf]
    seam = (place.max(axis=1) - place.min(axis=1)).max(axis=1) > 0.012  # the print does not run across a seam
    rows = np.where(ga["field"][:, 0] < 0.011, 1, 0)[:, None]
    colour = np.where(rows, romper.cuff, romper.colour)
    cloth = Part(
        name="romper", vertices=gv, faces=gf, texture=ga["place"], colour=colour,
        colour2=np.tile(romper.colour2, (len(gv), 1)),
        face_materials=np.where(is_cuff, "cuff", np.where(seam, "seam", romper.material)),
    )  # fmt: skip
    strip_v = np.concatenate([gv[rim].reshape(-1, 3), (ga["body"] - ga["m"] * 0.001)[rim].reshape(-1, 3)])
    k = len(rim)
    i = np.arange(k) * 2
    strip_f = np.concatenate(
        [np.stack([i, i + 1, i + 2 * k], axis=1), np.stack([i + 1, i + 1 + 2 * k, i + 2 * k], axis=1)]
    )
    hem = Part(
        name="hem", vertices=strip_v, faces=strip_f, texture=np.concatenate([ga["place"][rim].reshape(-1, 3)] * 2),
        colour=np.tile(romper.cuff, (len(strip_v), 1)), material="cuff",
        normals=np.concatenate([ga["m"][rim].reshape(-1, 3)] * 2),
    )  # fmt: skip
    colours = skin_colours(n, tone, rng, hair)
    mats = np.where(inside, "inside", np.where(eyes, "eye", "skin"))
    lip_faces = lip_share(n)[faces].mean(axis=1) > 0.5
    mats = np.where(lip_faces & (mats == "skin"), "lip", mats)
    dark = np.zeros(len(v), dtype=bool)
    dark[faces[inside].ravel()] = True
    colours[dark] = tone.lip * np.array([0.75, 0.55, 0.55])
    keep = faces[(field[faces] < 0.03).any(axis=1)]
    kept_mats = mats[(field[faces] < 0.03).any(axis=1)]
    skin = Part(
        name="doll", vertices=v, faces=keep, texture=n, colour=colours, face_materials=kept_mats, normals=body_normals
    )
    return Doll(skin=skin, romper=cloth, hem=hem, base=base, rest=rest0)
