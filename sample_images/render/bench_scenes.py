"""Random scenes for the accuracy bench: pictures that are none of the samples, each with its truth.

    python -m sample_images.render.bench_scenes --out DIR [--n 500] [--seed 20] [--size 576]

writes DIR/00000.jpg with DIR/00000.json and so on; what is there already is kept, so that a run that was stopped goes
on where it was. Scene number i of a seed is the same whatever n is. Two pictures share one doll, seen twice.
"""

import argparse
import json
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from .doll import Pose, Shape
from .mesh import merge
from .picture import develop, save_jpeg, trace_parts
from .props import Breast, Torso
from .samples import BABY, CLOSED_EYES, CURLED, SMALL
from .scene import Garment, Light, Scene, Slab, Sleeve, View, build, camera_of
from .truth import truth

#: To be raised with whatever changes the pictures or their truth: each version has a cache of its own.
VERSION = 2

HOLDS = ("cradle", "cross_cradle", "under_arm", "laid_back", "side_lying")
#: Light paths a pixel: enough once the light is smoothed at this size.
PATHS = 3
VIEWS_A_DOLL = 2

#: Rough places of the doll's points in scene axes (forward, up along the doll; metres), for putting things before them.
ROUGH = {"ear": (0.0, 0.24), "chin": (0.075, 0.19), "shoulder": (-0.01, 0.14), "hip": (-0.01, -0.09)}

Rng = np.random.Generator


def _pick(rng: Rng, options):
    return options[int(rng.integers(len(options)))]


def _colour(rng: Rng) -> tuple[int, int, int]:
    """Cloth: any hue, muted."""
    base, spread = rng.uniform(60, 225), rng.uniform(5, 45)
    return tuple(int(np.clip(base + spread * x, 20, 245)) for x in rng.uniform(-1, 1, 3))


def random_face(rng: Rng) -> dict[str, float]:
    """Facial actions from a nearly closed to a wide mouth, the lips turned out or tucked in."""
    flare = rng.uniform(0, 1)
    face = {
        "jawOpen": rng.uniform(0.03, 0.6), "mouthFunnel": 0.35 * flare, "mouthLowerDownLeft": 0.3 * flare,
        "mouthLowerDownRight": 0.3 * flare, "mouthUpperUpLeft": 0.4 * flare, "mouthUpperUpRight": 0.4 * flare,
    }  # fmt: skip
    return face | (CLOSED_EYES if rng.random() < 0.6 else {})


def random_pose(rng: Rng) -> Pose:
    """Head and trunk between tucked and tipped back, turned and tilted; limbs about curled."""
    limbs = {bone: tuple(np.array(to) + rng.normal(0, 0.12, 3)) for bone, to in CURLED.items()}
    return Pose(
        head_flexion_deg=rng.uniform(-26, 14), neck_flexion_deg=rng.uniform(-16, 4), head_turn_deg=rng.normal(0, 9),
        head_tilt_deg=rng.normal(0, 6), trunk_flexion_deg=rng.uniform(-4, 22), trunk_twist_deg=rng.normal(0, 5),
        limbs=limbs,
    )  # fmt: skip


def random_view(rng: Rng, side: str, at_breast: bool) -> View:
    """From any roll, from nearly the front to behind; the whole doll or head and trunk.

    At the breast the torso stands in the way of a front view, so fewer of those are drawn.
    """
    yaw = rng.uniform(60 if at_breast else 42, 130)
    whole = rng.random() < 0.55
    target = (rng.normal(0.05, 0.015), rng.normal(0.04 if whole else 0.15, 0.02), 0.0)
    distance = rng.uniform(0.8, 1.7)
    width = rng.uniform(0.62, 0.74) if whole else rng.uniform(0.36, 0.46)
    return View(
        side=side, towards_front_deg=90 - yaw, towards_head_deg=rng.normal(5, 8), distance=distance, target=target,
        picture_up=(1.0, 0.0, 0.0), fov_deg=float(np.degrees(2 * np.arctan(width / 2 / distance))),
        roll_deg=rng.uniform(0, 360), lens=_pick(rng, (0.0, 0.003)),
    )  # fmt: skip


def random_light(rng: Rng, sign: float) -> tuple[str, Light, float]:
    """Its name, the light and the grain: bright, even or dim."""
    name = str(rng.choice(["bright", "even", "dim"], p=[0.3, 0.45, 0.25]))
    key = (rng.uniform(-0.9, 1.1), rng.uniform(-0.9, 1.1), sign * rng.uniform(0.8, 1.5))
    warm = rng.uniform(0.75, 1.0)
    strength, room = {"bright": (5.0, 0.5), "even": (2.2, 1.1), "dim": (1.4, 0.7)}[name]
    light = Light(
        key=key, up=(rng.normal(0, 0.3), rng.normal(0, 0.3), sign), key_strength=strength,
        key_radius=rng.uniform(0.1, 0.5), key_colour=(1.0, 0.5 + warm / 2, warm),
        sky=tuple(room * np.array([0.62, 0.66, 0.72])), ground=tuple(room * np.array([0.40, 0.36, 0.32])),
        exposure={"bright": 1.2, "even": 1.4, "dim": 0.42}[name] * rng.uniform(0.8, 1.25),
    )  # fmt: skip
    return name, light, {"bright": 0.006, "even": 0.01, "dim": 0.03}[name]


def _forearm(rng: Rng, place: tuple[float, float], height: float) -> Sleeve:
    """A sleeve that runs over or beside a place, at a height towards the camera (scene z, signed)."""
    angle = rng.uniform(0, np.pi)
    along = np.array([np.cos(angle), np.sin(angle), 0.0])
    middle = np.array([*place, height])
    bend = np.array([0, 0, 0.02 * np.sign(height)])
    path = [middle - along * 0.30, middle - along * 0.1 + bend, middle + along * 0.04]
    return Sleeve(path=tuple(map(tuple, path)), radii=(0.042, 0.036, 0.029), colour=_colour(rng))


def random_covers(rng: Rng, hold: str, sign: float) -> tuple[str, tuple[Sleeve, ...]]:
    """What lies between camera and doll: its name, and the sleeves. Each hold hides its own points most often."""
    usual = {
        "cradle": "ear", "cross_cradle": "ear", "under_arm": "hip", "laid_back": "chin", "side_lying": "shoulder"
    }[hold]  # fmt: skip
    if rng.random() < 0.6:
        return "none", ()
    name = usual if rng.random() < 0.6 else str(rng.choice(list(ROUGH)))
    place = tuple(np.array(ROUGH[name]) + rng.normal(0, 0.015, 2))
    return name, (_forearm(rng, place, sign * rng.uniform(0.12, 0.16)),)


def _slabs(rng: Rng, hold: str, sign: float) -> tuple[Slab, ...]:
    """A cushion under the doll (a mattress lying down), and a backdrop."""
    faces = (0, 0, sign)
    cushion = Slab(
        name="cushion", at=(-0.02, -0.03, -sign * 0.05), faces=faces, along=(0, 1, 0),
        half=(0.46, 0.26) if hold not in ("side_lying", "laid_back") else (0.7, 0.7), colour=_colour(rng),
        colour2=_colour(rng), material=_pick(rng, ("linen", "linen_leaves", "towel", "jersey")), round_edge=0.09,
        step=0.006,
    )  # fmt: skip
    backdrop = Slab(
        name="backdrop", at=(0, 0, -sign * 0.24), faces=faces, along=(0, 1, 0), half=(1.2, 1.2), colour=_colour(rng),
        colour2=_colour(rng), material=_pick(rng, ("towel", "wall", "jersey", "linen_dots")), folds=0.012, press=False,
        step=0.015,
    )  # fmt: skip
    return cushion, backdrop


def _breast(rng: Rng, at_breast: bool) -> Breast:
    areola = rng.uniform(0.014, 0.028)
    shared = {"radius": rng.uniform(0.055, 0.07), "height": rng.uniform(0.036, 0.052), "areola_radius": areola}
    if at_breast:
        shift = (rng.normal(0.006, 0.006), rng.normal(0, 0.003))
        return Breast(
            drawn_in=rng.uniform(0.014, 0.024), areola_centre=shift, centre=(rng.normal(0, 0.005), 0), **shared
        )
    return Breast(**shared)


def random_scene(seed: int, doll: int) -> Scene:
    """Doll number `doll` of a seed, with the first of its views."""
    rng = np.random.default_rng([seed, doll])
    side = _pick(rng, ("left", "right"))
    sign = 1.0 if side == "right" else -1.0
    hold, at_breast = _pick(rng, HOLDS), bool(rng.random() < 0.5)
    tone = int(rng.integers(1, 9))
    _, light, grain = random_light(rng, sign)
    small = {name: value * rng.uniform(0.3, 1.25) for name, value in SMALL.items()}
    phenotype = {name: float(np.clip(value + rng.normal(0, 0.15), 0, 1)) for name, value in BABY.items()}
    return Scene(
        name=f"bench-{seed}-{doll}", title="", teaches="", hold=hold, phase="at_breast" if at_breast else "before",
        view_name="", doll="", skin_tone=tone, seed=int(rng.integers(1 << 30)),
        shape=Shape(phenotype=phenotype, local_changes=small, face=random_face(rng), length_scale=rng.uniform(0.8, 1.0)),
        pose=random_pose(rng),
        garment=Garment(colour=_colour(rng), colour2=_colour(rng), cuff=_colour(rng), sleeve=rng.uniform(0.5, 1.0),
                        leg=rng.uniform(0.5, 1.0), material=_pick(rng, ("romper", "romper_dots", "romper_stripes"))),
        view=random_view(rng, side, at_breast), light=light, breast=_breast(rng, at_breast),
        torso=Torso(bend_u=rng.uniform(0.16, 0.3), bend_w=rng.uniform(0.16, 0.3), extent=0.3), torso_colour=_colour(rng),
        breast_turn_deg=rng.uniform(8, 32), breast_away=0.0 if at_breast else rng.uniform(0.012, 0.07),
        breast_up=0.0 if at_breast else rng.normal(0.006, 0.01), slabs=_slabs(rng, hold, sign),
        hair=bool(rng.random() < 0.7), noise=grain, model_tone=tone,
    )  # fmt: skip


def pictures(seed: int, doll: int, size: int):
    """The pictures of one doll with their records: (image, record), each from its own view, light, blur and cover."""
    first = random_scene(seed, doll)
    sign = 1.0 if first.view.side == "right" else -1.0
    for number in range(VIEWS_A_DOLL):
        rng = np.random.default_rng([seed, doll, number + 1])
        light_name, light, grain = random_light(rng, sign)
        cover, sleeves = random_covers(rng, first.hold, sign)
        blur = float(_pick(rng, (0.0, 0.0, 0.0, 1.2, 2.2)))
        tint = tuple(1 + rng.normal(0, 0.04, 3))
        view = random_view(rng, first.view.side, first.phase == "at_breast")
        scene = replace(first, view=view, light=light, noise=grain, sleeves=sleeves)
        built = build(scene, size)
        built = replace(built, camera=camera_of(view, size))
        model = merge(built.parts)
        parts = trace_parts(model, built.lights, built.camera, spp=PATHS, seed=scene.seed + number)
        image = develop(
            parts, exposure=light.exposure, tint=tint, noise=grain, seed=scene.seed + number, blur_px=blur
        )  # fmt: skip
        facts = truth(scene, built, model)
        trunk_off = abs(view.towards_front_deg) > 30 or abs(view.towards_head_deg) > 30
        record = {
            "scenes": VERSION, "doll": doll, "hold": scene.hold, "phase": scene.phase, "skin_tone": scene.skin_tone,
            "roll_deg": round(view.roll_deg, 1), "light": light_name, "blur_px": blur, "cover": cover,
            "width": built.camera.width, "height": built.camera.height, **facts,
            "body_view": "turned" if trunk_off else "side",
        }  # fmt: skip
        yield image, record


def make_doll(out: Path, seed: int, doll: int, size: int) -> None:
    """Write the pictures of one doll; the JSON comes last and whole: it says that its picture is there."""
    names = [f"{doll * VIEWS_A_DOLL + view:05d}" for view in range(VIEWS_A_DOLL)]
    if all((out / f"{name}.json").exists() for name in names):
        return
    for name, (image, record) in zip(names, pictures(seed, doll, size), strict=True):
        save_jpeg(image, out / f"{name}.jpg", limit_bytes=120_000)
        part = out / f"{name}.part"
        part.write_text(json.dumps(record) + "\n", encoding="utf-8")
        part.replace(out / f"{name}.json")


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m sample_images.render.bench_scenes", description="Bench pictures.")
    parser.add_argument("--out", type=Path, required=True, help="folder for the pictures and their JSON files")
    parser.add_argument("--n", type=int, default=500, help="pictures (500)")
    parser.add_argument("--seed", type=int, default=20, help="which set (20)")
    parser.add_argument("--size", type=int, default=576, help="width in pixels (576)")
    parser.add_argument("--jobs", type=int, default=1, help="processes side by side (1)")
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    began = time.perf_counter()
    dolls = range(-(-args.n // VIEWS_A_DOLL))
    with ProcessPoolExecutor(args.jobs, mp_context=get_context("spawn")) as pool:
        waiting = [pool.submit(make_doll, args.out, args.seed, doll, args.size) for doll in dolls]
        for done, one in enumerate(as_completed(waiting), start=1):
            one.result()
            print(f"{done * VIEWS_A_DOLL} of {args.n} pictures, {time.perf_counter() - began:.0f} s", flush=True)


if __name__ == "__main__":
    main()
