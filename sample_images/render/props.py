"""What stands round the doll: the breast model on its cloth-covered torso, cushion, backdrop, sleeve."""

from dataclasses import dataclass

import numpy as np

from .mesh import Part, vertex_normals
from .pressing import Frame, dent, grid_faces
from .tones import Tone


@dataclass(frozen=True, kw_only=True)
class Breast:
    """The breast model in its frame, metres: height grows towards the doll, u points from chin to nose.

    Parameters
    ----------
    apex : float
        Height of the dome's top over the frame's origin.
    centre : (u, w)
        Place of the dome's axis.
    radius, height : float
        Of the dome.
    areola_radius, areola_centre
        Of the areola; its centre is also the nipple's.
    drawn_in, drawn_width, drawn_centre
        How much tissue stands up into the mouth and how broad it is; 0 for a resting nipple.
    swell, swell_u, swell_width
        Soft tissue that rises against the chin, and where.
    """

    apex: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)
    radius: float = 0.062
    height: float = 0.046
    areola_radius: float = 0.021
    areola_centre: tuple[float, float] = (0.0, 0.0)
    nipple_height: float = 0.009
    nipple_radius: float = 0.0062
    drawn_in: float = 0.0
    drawn_width: float = 0.016
    drawn_centre: tuple[float, float] = (0.0, 0.0)
    swell: float = 0.0
    swell_u: float = -0.042
    swell_width: float = 0.018


@dataclass(frozen=True, kw_only=True)
class Torso:
    """The cloth-covered torso under the breast: radii of its bend along u and w and its middle, metres; its slope; its cloth.

    A slope above 0 brings the torso nearer towards the doll's feet.
    """

    bend_u: float = 0.20
    bend_w: float = 0.60
    middle: tuple[float, float] = (-0.07, 0.0)
    extent: float = 0.62
    slope_deg: float = 0.0
    colour: np.ndarray = None
    colour2: np.ndarray = None
    material: str = "jersey"


def breast_height(b: Breast, t: Torso):
    """The undisturbed height over (u, w)."""

    def dome(r):
        x = np.clip(r / b.radius, 0, 1.0)
        return b.height * (1 - x**2.2)

    bent_at_axis = sum(
        -(bend - np.sqrt(bend**2 - (c - m) ** 2))
        for c, m, bend in zip(b.centre, t.middle, (t.bend_u, t.bend_w), strict=True)
    )

    def height(u, w):
        du, dw = u - b.centre[0], w - b.centre[1]
        r = np.hypot(du, dw)
        bent = np.zeros_like(r)
        for off, bend in ((u - t.middle[0], t.bend_u), (w - t.middle[1], t.bend_w)):
            off = np.minimum(np.abs(off), bend * 0.995)
            bent = bent - (bend - np.sqrt(bend**2 - off**2))
        bent = bent - np.tan(np.radians(t.slope_deg)) * du
        out = b.apex - b.height + dome(r) + (bent - bent_at_axis) * np.clip((r - 0.02) / 0.05, 0, 1)
        rim = np.exp(-(((r - b.radius - 0.003) / 0.0035) ** 2)) * 0.0035
        ra = np.hypot(u - b.areola_centre[0], w - b.areola_centre[1])
        areola = 0.0016 / (1 + np.exp(np.clip((ra - b.areola_radius) / 0.0012, -50, 50)))
        nipple = b.nipple_height * np.clip(1 - (ra / (b.nipple_radius * 1.35)) ** 4, 0, 1) ** 0.6
        rd = np.hypot(u - b.drawn_centre[0], w - b.drawn_centre[1])
        drawn = b.drawn_in * np.exp(-((rd / b.drawn_width) ** 4))
        swell = b.swell * np.exp(-(((u - b.swell_u) / b.swell_width) ** 2) - (w / b.swell_width) ** 2)
        return out + rim + areola + swell + np.maximum(nipple, 0) * (b.drawn_in == 0) + drawn

    return height


def breast_and_torso(frame: Frame, b: Breast, t: Torso, tone: Tone, bodies: list[Part], seed: int) -> Part:
    """One polar sheet: breast skin inside the sewn rim, cloth outside; it gives way to the bodies."""
    rng = np.random.default_rng(seed)
    height = breast_height(b, t)
    fine = dent(frame, height, bodies, centre=b.drawn_centre, half=0.075, step=0.0005, gap=0.0002, soft=0.0022)
    coarse = dent(frame, height, bodies, centre=b.centre, half=t.extent, step=0.0016, gap=0.0006, soft=0.008)
    inner = np.concatenate([[0.0002], np.arange(0.0006, 0.048, 0.0006), np.arange(0.048, b.radius, 0.001)])
    outer = b.radius + np.concatenate([np.arange(0, 0.012, 0.001), 0.012 + np.cumsum(0.0012 * 1.03 ** np.arange(96))])
    outer = outer[outer < t.extent]
    rings = np.concatenate([inner, outer])
    n_phi = 400
    phi = np.linspace(0, 2 * np.pi, n_phi, endpoint=False)
    # rings are centred on the mouth where it takes the breast in and drift to the dome's axis at the sewn rim
    drift = np.clip(rings / b.radius, 0, 1) ** 2
    cu = b.drawn_centre[0] + (b.centre[0] - b.drawn_centre[0]) * drift
    cw = b.drawn_centre[1] + (b.centre[1] - b.drawn_centre[1]) * drift
    u = (cu[:, None] + rings[:, None] * np.cos(phi)).ravel()
    w = (cw[:, None] + rings[:, None] * np.sin(phi)).ravel()
    give = np.maximum(fine(u, w), coarse(u, w) * (np.hypot(u - b.drawn_centre[0], w - b.drawn_centre[1]) > 0.06))
    h = height(u, w)
    r_dome = np.hypot(u - b.centre[0], w - b.centre[1])
    cloth = np.repeat(rings >= b.radius - 1e-9, n_phi)
    folds = sum(
        0.0016 * np.sin(u * k * np.cos(a) + w * k * np.sin(a) + p + 1.5 * np.sin(u * 23 + p))
        for k, a, p in zip(rng.uniform(40, 110, 5), rng.uniform(0, np.pi, 5), rng.uniform(0, 6, 5), strict=True)
    )
    h = h + folds * np.clip((r_dome - b.radius - 0.01) / 0.05, 0, 1)
    places = frame.out(u, w, h - give)
    faces = grid_faces(len(rings), n_phi, closed=True)
    ra = np.hypot(u - b.areola_centre[0], w - b.areola_centre[1])
    angle = np.arctan2(w - b.areola_centre[1], u - b.areola_centre[0])
    edge = b.areola_radius * (1 + 0.02 * np.sin(3 * angle + 1) + 0.015 * np.sin(7 * angle))
    share = (1 / (1 + np.exp(np.clip((ra - edge) / 0.0009, -50, 50))))[:, None]
    bumps = 1 + 0.05 * np.sin(ra * 2100)[:, None] * np.sin(angle * 15)[:, None]
    skin = tone.skin * (1 - share) + tone.areola * bumps * share
    colour = np.where(cloth[:, None], t.colour, skin)
    texture = np.stack([u, w, w], axis=1)
    face_cloth = cloth[faces].all(axis=1)
    return Part(
        name="breast", vertices=places, faces=faces, texture=np.where(cloth[:, None], texture, texture * 1.0),
        colour=colour, colour2=np.tile(t.colour2 if t.colour2 is not None else t.colour, (len(u), 1)),
        face_materials=np.where(face_cloth, t.material, "breast"),
    )  # fmt: skip


def areola_ring(frame: Frame, b: Breast, part: Part) -> np.ndarray:
    """Vertex indices of the breast sheet that lie on the areola's edge."""
    coords = frame.into(part.vertices)
    ra = np.hypot(coords[:, 0] - b.areola_centre[0], coords[:, 1] - b.areola_centre[1])
    return np.flatnonzero(np.abs(ra - b.areola_radius) < 0.0005)


def soft_slab(
    name: str, frame: Frame, height, bodies, *, half: tuple[float, float], step: float, colour, colour2, material: str,
    press: bool = True, soft: float = 0.012,
) -> Part:  # fmt: skip
    """A cushion, mattress or backdrop: height over (u, w), giving way to bodies."""
    us = np.arange(-half[0], half[0], step)
    ws = np.arange(-half[1], half[1], step)
    uu, ww = np.meshgrid(us, ws, indexing="ij")
    u, w = uu.ravel(), ww.ravel()
    h = height(u, w)
    if press:
        give = dent(frame, height, bodies, centre=(0, 0), half=max(half), step=0.002, gap=0.0006, soft=soft)
        h = h - give(u, w)
    places = frame.out(u, w, h)
    return Part(
        name=name, vertices=places, faces=grid_faces(len(us), len(ws)), texture=np.stack([u, w, w], axis=1),
        colour=np.tile(colour, (len(u), 1)), colour2=np.tile(colour2, (len(u), 1)), material=material,
    )  # fmt: skip


def tube(
    name: str, path: np.ndarray, radii: np.ndarray, colour, material: str, *, seed: int, folds: float = 0.0
) -> Part:
    """A round sleeve along a smooth path (n, 3) with radii (n,), its ends rounded."""
    from scipy.interpolate import CubicSpline

    rng = np.random.default_rng(seed)
    s = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    fine = np.linspace(0, s[-1], 260)
    p = CubicSpline(s, path)(fine)
    r = np.interp(fine, s, radii)
    end = np.minimum(fine, s[-1] - fine)
    cap = 0.02
    r = r * np.sqrt(np.clip(1 - (1 - np.clip(end / cap, 0, 1)) ** 2, 1e-4, 1))
    d = np.gradient(p, axis=0)
    d /= np.linalg.norm(d, axis=1, keepdims=True)
    side = np.cross(d, [0.13, 0.2, 1.0])
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    other = np.cross(d, side)
    phi = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    bump = np.zeros((len(fine), len(phi)))
    for _ in range(6):
        k, q, o = rng.uniform(80, 220), rng.integers(1, 4), rng.uniform(0, 6)
        bump += folds * np.sin(fine[:, None] * k + q * phi + o + 2 * np.sin(phi + o))
    rr = r[:, None] + bump * np.clip(end / 0.03, 0, 1)[:, None]
    v = p[:, None] + rr[..., None] * (
        np.cos(phi)[None, :, None] * side[:, None] + np.sin(phi)[None, :, None] * other[:, None]
    )
    texture = np.stack(
        [
            np.tile(phi * 0.035, (len(fine), 1)),
            np.tile(fine[:, None], (1, len(phi))),
            np.tile(fine[:, None], (1, len(phi))),
        ],
        axis=2,
    )
    v, texture = v.reshape(-1, 3), texture.reshape(-1, 3)
    faces = grid_faces(len(fine), len(phi), closed=True)
    if np.mean(np.sum(vertex_normals(v, faces) * (v - np.repeat(p, len(phi), axis=0)), axis=1)) < 0:
        faces = faces[:, ::-1]
    return Part(
        name=name, vertices=v, faces=faces, texture=texture, colour=np.tile(colour, (len(v), 1)), material=material
    )
