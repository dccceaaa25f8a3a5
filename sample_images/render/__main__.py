"""Make the sample pictures: `python -m sample_images.render --out DIR [--only NAME ...] [--size W] [--debug]`.

Those of `samples` were made with the usual size and samples, the others with `--size 1280 --samples 6`
(--samples 8 for areola_below_side and cradle_tucked_side).
"""

import argparse
import json
import time
from pathlib import Path

from PIL import Image, ImageDraw

from .mesh import merge
from .picture import develop, save_jpeg, trace_parts
from .samples import SCENES as FIRST
from .scene import Scene, build
from .truth import truth
from .variants import VARIANTS
from .variants_adult import ABOUT_THE_ADULT

SCENES = [*FIRST, *VARIANTS, *ABOUT_THE_ADULT]

SCHOOL = "Hollowmere School of Midwifery, Linden Room"


def key_of(scene: Scene, facts: dict, width: int, height: int) -> dict:
    """The reference key, its spots taken from the landmarks."""
    answers = {}
    for item, line in scene.answers.items():
        spot = None
        if isinstance(line.at, tuple):
            spot = {"x": line.at[0], "y": line.at[1]}
        elif line.at in facts["landmarks"] and line.answer != "cant_tell":
            p = facts["landmarks"][line.at]
            spot = {"x": round(p["x"] / width, 4), "y": round(p["y"] / height, 4)}
        answers[item] = {
            "answer": line.answer, "why": line.why, "accepted": list(line.accepted), "spot": spot,
            "settles": line.settles,
        }  # fmt: skip
    return {"phase": scene.phase, "view": scene.view_name, "answers": answers}


def with_landmarks(image: Image.Image, facts: dict) -> Image.Image:
    """A copy with the landmarks drawn in."""
    out = image.copy()
    draw = ImageDraw.Draw(out)
    for name, p in facts["landmarks"].items():
        x, y = p["x"], p["y"]
        colour = (255, 255, 0) if p["visibility"] == 2 else (0, 220, 255)
        draw.ellipse([x - 3, y - 3, x + 3, y + 3], outline=(0, 0, 0), fill=colour)
        draw.text((x + 5, y - 6), name, fill=colour, stroke_width=1, stroke_fill=(0, 0, 0))
    return out


def make(scene: Scene, out: Path, *, width: int, spp: int, debug: bool, truth_only: bool = False) -> None:
    """Write NAME.jpg and NAME.json (and NAME.debug.png)."""
    began = time.perf_counter()
    built = build(scene, width)
    model = merge(built.parts)
    facts = truth(scene, built, model)
    height = built.camera.height
    record = {
        "title": scene.title, "teaches": scene.teaches, "hold": scene.hold, "phase": scene.phase,
        "view": scene.view_name, "school": SCHOOL, "doll": scene.doll, "skin_tone": scene.skin_tone,
        "seed": scene.seed, "width": width, "height": height, **facts, "key": key_of(scene, facts, width, height),
    }  # fmt: skip
    (out / f"{scene.name}.json").write_text(json.dumps(record, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    if not truth_only:
        parts = trace_parts(model, built.lights, built.camera, spp=spp, seed=scene.seed)
        image = develop(
            parts, exposure=scene.light.exposure, tint=scene.tint, noise=scene.noise, seed=scene.seed,
            blur_px=scene.blur_px * width / 1600, contrast=scene.contrast,
        )  # fmt: skip
        save_jpeg(image, out / f"{scene.name}.jpg", limit_bytes=450_000)
        if debug:
            with_landmarks(image, facts).save(out / f"{scene.name}.debug.png")
    print(f"{scene.name}: {width}x{height}, {time.perf_counter() - began:.0f} s, {facts['true']}", flush=True)


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m sample_images.render", description="Make the sample pictures.")
    parser.add_argument("--out", type=Path, required=True, help="folder for the pictures and their JSON files")
    parser.add_argument("--only", nargs="+", help="pictures by name")
    parser.add_argument("--size", type=int, default=1600, help="longer side in pixels (1600)")
    parser.add_argument("--samples", type=int, default=10, help="light paths a pixel (10)")
    parser.add_argument("--truth-only", action="store_true", help="write the JSON files and leave the pictures alone")
    parser.add_argument("--debug", action="store_true", help="also write pictures with the landmarks drawn in")
    args = parser.parse_args()
    chosen = [s for s in SCENES if args.only is None or s.name in args.only]
    if not chosen:
        parser.error(f"no picture is called {' or '.join(args.only)}; known are {', '.join(s.name for s in SCENES)}")
    args.out.mkdir(parents=True, exist_ok=True)
    for scene in chosen:
        width = args.size if scene.view.aspect <= 1 else round(args.size / scene.view.aspect)
        make(scene, args.out, width=width, spp=args.samples, debug=args.debug, truth_only=args.truth_only)


if __name__ == "__main__":
    main()
