"""A scene as data, and its geometry."""

from dataclasses import dataclass, field, replace

import numpy as np

from .adult_body import AdultBody, body_part
from .adult_head import AdultHead, head_part
from .arm import Arm, arm_parts
from .camera import Camera, turn_about, unit
from .card import Card, card_part
from .doll import Pose, Shape, head_axes, landmark_places
from .dressing import Doll, Romper, dressed
from .mesh import Part
from .pressing import Frame
from .props import Breast, Torso, breast_and_torso, soft_slab, tube
from .tones import tone
from .tracer import Lights


@dataclass(frozen=True, kw_only=True)
class View:
    """Where the camera stands, in scene axes.

    Parameters
    ----------
    side : "left" or "right"
        The doll's side that a square side view looks at.
    towards_front_deg, towards_head_deg
        Turn of the line of sight off the square side view, to the doll's front and to the crown of its head.
    distance : float
        Metres to the target.
    target : (x, y, z)
        Metres, scene axes (the doll's root is the origin).
    picture_up : (x, y, z)
        Direction that points up in the picture before the roll.
    """

    side: str = "right"
    towards_front_deg: float = 0.0
    towards_head_deg: float = 0.0
    distance: float = 1.3
    target: tuple[float, float, float] = (0.05, 0.05, 0.0)
    picture_up: tuple[float, float, float] = (0.0, 1.0, 0.0)
    fov_deg: float = 30.0
    roll_deg: float = 0.0
    aspect: float = 0.75
    lens: float = 0.004


@dataclass(frozen=True, kw_only=True)
class Slab:
    """A cushion or backdrop: place, direction that it faces, half sizes and roundness, metres."""

    name: str
    at: tuple[float, float, float]
    faces: tuple[float, float, float]
    along: tuple[float, float, float]
    half: tuple[float, float]
    colour: tuple[int, int, int]
    colour2: tuple[int, int, int] = (255, 255, 255)
    material: str = "linen"
    round_edge: float = 0.0
    folds: float = 0.0
    press: bool = True
    step: float = 0.004


@dataclass(frozen=True, kw_only=True)
class Sleeve:
    """A supporting forearm in its sleeve: path and radii, metres."""

    path: tuple[tuple[float, float, float], ...]
    radii: tuple[float, ...]
    colour: tuple[int, int, int]
    material: str = "jersey"


@dataclass(frozen=True, kw_only=True)
class Light:
    """The key light and the room, in the directions of the scene."""

    key: tuple[float, float, float]
    up: tuple[float, float, float]
    key_strength: float = 5.0
    key_radius: float = 0.35
    key_colour: tuple[float, float, float] = (1.0, 0.95, 0.88)
    sky: tuple[float, float, float] = (0.50, 0.54, 0.60)
    ground: tuple[float, float, float] = (0.34, 0.30, 0.27)
    exposure: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Garment:
    """The romper by display colours."""

    colour: tuple[int, int, int]
    colour2: tuple[int, int, int] = (255, 255, 255)
    cuff: tuple[int, int, int] = (240, 236, 228)
    material: str = "romper"
    sleeve: float = 0.85
    leg: float = 0.75


@dataclass(frozen=True, kw_only=True)
class KeyLine:
    """One line of the reference key; `at` is a landmark, or shares of the picture's width and height."""

    answer: str
    why: str
    accepted: tuple[str, ...] = ()
    at: str | tuple[float, float] | None = None
    settles: str | None = None


@dataclass(frozen=True, kw_only=True)
class Scene:
    """Everything that a sample picture depends on.

    `breast_turn_deg` turns the breast's axis off the head's forward axis towards the chin; `breast_away` moves the breast
    off the mouth along that axis (metres), before the latch; `breast_up` shifts it towards the nose.
    """

    name: str
    title: str
    teaches: str
    hold: str
    phase: str
    view_name: str
    doll: str
    skin_tone: int
    seed: int
    shape: Shape
    pose: Pose
    garment: Garment
    view: View
    light: Light
    breast: Breast
    torso: Torso
    torso_colour: tuple[int, int, int]
    breast_turn_deg: float = 22.0
    breast_away: float = 0.0
    breast_up: float = 0.0
    slabs: tuple[Slab, ...] = ()
    sleeves: tuple[Sleeve, ...] = ()
    arms: tuple[Arm, ...] = ()
    hair: bool = True
    body_view: str = "side"
    noise: float = 0.008
    blur_px: float = 0.0
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    model_tone: int | None = None
    contrast: float = 0.0
    card: Card | None = None
    adult_head: AdultHead | None = None
    adult_body: AdultBody | None = None
    answers: dict[str, KeyLine] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Built:
    """The geometry of a scene and the frames that its truth is read in."""

    parts: list[Part]
    doll: Doll
    head: np.ndarray
    frame: Frame
    breast: Breast
    breast_part: Part
    camera: Camera
    lights: Lights
    landmarks: dict[str, np.ndarray]
    side: str = "right"


def mouth_frame(doll: Doll, head: np.ndarray, scene: Scene) -> Frame:
    """The frame of the breast: origin in the middle of the open mouth, `a` into the mouth, `u` towards the nose."""
    left, right = (landmark_places(doll.base, s) for s in ("left", "right"))
    middle = (left["upper_lip_edge"] + left["lower_lip_edge"]) / 2
    forward, up, across = head.T
    turn = turn_about(across, -scene.breast_turn_deg)
    a, u = -(turn @ forward), turn @ up
    centre_line = (left["mouth_corner"] + right["mouth_corner"]) / 2
    middle = middle + across * ((centre_line - middle) @ across)
    return Frame(origin=middle - a * scene.breast_away + u * scene.breast_up, u=u, w=across, a=a)


def _slab_height(slab: Slab, seed: int):
    rng = np.random.default_rng(seed)
    waves = [(rng.uniform(8, 26), rng.uniform(0, np.pi), rng.uniform(0, 6)) for _ in range(5)]

    def height(u, w):
        edge = np.zeros_like(u)
        for x, half in ((u, slab.half[0]), (w, slab.half[1])):
            r = slab.round_edge
            if r > 0:
                over = np.clip((np.abs(x) - (half - r)) / r, 0, 1)
                edge = edge - r * (1 - np.sqrt(np.clip(1 - over**2, 0, 1)))
        fold = sum(
            slab.folds * (1 - np.abs(np.sin(k * (u * np.cos(t) + w * np.sin(t)) / 2 + p + np.sin(9 * w + p)))) ** 3
            for k, t, p in waves
        )
        return edge + fold

    return height


def _slab_part(slab: Slab, bodies: list[Part], seed: int) -> Part:
    from .tones import linear

    a = unit(slab.faces)
    u = np.asarray(slab.along, dtype=float)
    u = unit(u - a * (u @ a))
    frame = Frame(origin=np.asarray(slab.at, dtype=float), u=u, w=np.cross(a, u), a=a)
    return soft_slab(
        slab.name, frame, _slab_height(slab, seed), bodies, half=slab.half, step=slab.step,
        colour=linear(slab.colour), colour2=linear(slab.colour2), material=slab.material, press=slab.press,
    )  # fmt: skip


def camera_of(view: View, width: int) -> Camera:
    """The camera of a view for a picture of this width."""
    sign = 1.0 if view.side == "right" else -1.0
    to = np.array([0.0, 0.0, sign])
    a, b = np.radians(view.towards_front_deg), np.radians(view.towards_head_deg)
    to = np.cos(b) * (np.cos(a) * to + np.sin(a) * np.array([1.0, 0, 0])) + np.sin(b) * np.array([0, 1.0, 0])
    target = np.asarray(view.target, dtype=float)
    return Camera(
        eye=target + to * view.distance, target=target, up_hint=np.asarray(view.picture_up, dtype=float),
        fov_deg=view.fov_deg, width=width, height=round(width * view.aspect), roll_deg=view.roll_deg, lens=view.lens,
    )  # fmt: skip


def build(scene: Scene, width: int) -> Built:
    """The geometry of a scene."""
    from .tones import linear

    colours = tone(scene.skin_tone)
    g = scene.garment
    romper = Romper(
        colour=linear(g.colour), colour2=linear(g.colour2), cuff=linear(g.cuff), material=g.material, sleeve=g.sleeve,
        leg=g.leg,
    )  # fmt: skip
    doll = dressed(scene.shape, scene.pose, colours, romper, seed=scene.seed, hair=scene.hair)
    head = head_axes(doll.rest, doll.base)
    frame = mouth_frame(doll, head, scene)
    bodies = [doll.skin, doll.romper]
    torso = replace(scene.torso, colour=linear(scene.torso_colour))
    model_tone = tone(scene.model_tone or scene.skin_tone)
    breast_part = breast_and_torso(frame, scene.breast, torso, model_tone, bodies, scene.seed + 1)
    sleeves = [
        tube(f"sleeve{i}", np.array(s.path), np.array(s.radii), linear(s.colour), s.material, seed=scene.seed + 20 + i,
             folds=0.0012)
        for i, s in enumerate(scene.sleeves)
    ]  # fmt: skip
    arms = [
        part
        for i, arm in enumerate(scene.arms)
        for part in arm_parts(arm, tone(arm.tone) if arm.tone else model_tone, linear(arm.colour), scene.seed + 60 + i)
    ]
    slabs = [_slab_part(s, [*bodies, *arms], scene.seed + 40 + i) for i, s in enumerate(scene.slabs)]
    light = scene.light
    camera = camera_of(scene.view, width)
    lights = Lights(
        key_position=np.array(light.key, dtype=float), key_radius=light.key_radius,
        key_colour=np.array(light.key_colour) * light.key_strength, up=unit(light.up),
        sky_colour=np.array(light.sky), ground_colour=np.array(light.ground),
    )  # fmt: skip
    extras = [card_part(scene.card)] if scene.card else []
    if scene.adult_head:
        extras.append(head_part(scene.adult_head, tone(scene.adult_head.tone) if scene.adult_head.tone else model_tone))
    if scene.adult_body:
        extras.append(body_part(scene.adult_body, model_tone, scene.seed + 80))
    return Built(
        parts=[doll.skin, doll.romper, doll.hem, breast_part, *sleeves, *arms, *slabs, *extras], doll=doll, head=head, frame=frame,
        breast=scene.breast, breast_part=breast_part, camera=camera, lights=lights,
        landmarks=landmark_places(doll.base, scene.view.side),
        side=scene.view.side,
    )  # fmt: skip
