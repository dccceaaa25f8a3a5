"""The bench's pictures: rendered once, kept in a folder outside the project, read with their truth."""

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from platformdirs import user_cache_path

from vision.errors import CannotDo
from vision.images import read_photo
from vision.landmarks import BodyView, LandmarkSet, Point, Visibility

PROJECT = Path(__file__).resolve().parent.parent.parent
#: Names the Python that can render, where the option does not.
RENDER_PYTHON = "LATCH_AND_LINE_RENDER_PYTHON"
SIZE_PX = 576
#: As in `sample_images.render.bench_scenes`, which raises it with whatever changes the pictures; part of the cache's
#: name, so that pictures of earlier scenes are never read as if they were today's.
SCENES_VERSION = 2
DEFAULT_N, DEFAULT_SEED = 500, 20
SIZE_AND_TIME = "500 pictures take about 40 MB, and some 25 minutes on two cores the first time"

_HOW_TO_RENDER = (
    "The bench's pictures are not there yet, and what renders them is missing: make it with `python3.11 -m venv "
    ".render-venv && .render-venv/bin/pip install -r sample_images/render/requirements.txt` in the project's folder, "
    f"or name a Python that has these packages with --render-python or {RENDER_PYTHON}."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class BenchPicture:
    """One picture with its truth.

    Parameters
    ----------
    path : Path or None
        The picture's file; None where only the truth is known.
    doll : int
        Pictures of one doll share this number.
    truth : LandmarkSet
        Every landmark inside the picture, with whether it can be seen, and the trunk's view. No yaw, no scale.
    head_yaw_deg, elevation_deg : float
        True ψ, and how far the camera looks down on the face.
    face_px : float
        True face size F in pixels.
    gape_deg, alignment_deg : float or None
        The true measures; None where there is none.
    groups : mapping of grouping to group
        skin tone, light, blur, cover (what hides a part), hold, phase.
    """

    path: Path | None
    doll: int
    truth: LandmarkSet
    head_yaw_deg: float
    elevation_deg: float
    face_px: float
    gape_deg: float | None
    alignment_deg: float | None
    groups: Mapping[str, str]

    def pixels(self) -> NDArray[np.uint8]:
        """The picture itself, RGB."""
        if self.path is None:
            raise CannotDo("This picture has no file.")
        return read_photo(self.path.read_bytes(), name=self.path.name).pixels

    @cached_property
    def head_roll_deg(self) -> float | None:
        """Where the crown of the head points in the picture: 0 up, 90 right; None where the truth cannot say it."""
        places = [self.truth.get(name) for name in ("ear", "nose_tip", "chin")]
        if any(place is None for place in places):
            return None
        ear, nose, chin = (complex(place.x, place.y) for place in places if place is not None)
        forward = (nose - ear) / abs(nose - ear)
        down = ((chin - nose) / forward).imag
        crown = forward * (-1j if down > 0 else 1j)
        return float(np.degrees(np.angle(crown * 1j)) % 360)


def picture_from_record(record: Mapping[str, Any], path: Path | None = None) -> BenchPicture:
    """A picture from the JSON that the renderer writes beside it.

    Raises
    ------
    CannotDo
        Where the record lacks something.
    """
    try:
        view = BodyView.SIDE if record["body_view"] == "side" else BodyView.TURNED
        points = {
            name: Point(x=place["x"], y=place["y"], visibility=Visibility(place["visibility"]), by="truth")
            for name, place in record["landmarks"].items()
        }
        true = record["true"]
        return BenchPicture(
            path=path,
            doll=int(record["doll"]),
            truth=LandmarkSet(points=points, body_view=view),
            head_yaw_deg=float(record["head_yaw_deg"]),
            elevation_deg=float(record["camera_elevation_deg"]),
            face_px=true["face_size_mm"] / record["mm_per_pixel"],
            gape_deg=true["gape_angle"],
            alignment_deg=true["alignment_angle"],
            groups={
                "tone": str(record["skin_tone"]),
                "light": record["light"],
                "blur": f"{record['blur_px']:g}",
                "cover": record["cover"],
                "hold": record["hold"].replace("_", " "),
                "phase": record["phase"].replace("_", " "),
            },
        )
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise CannotDo(f"{path.name if path else 'A record'} is no bench picture's truth: {fault!r}.") from fault


def cache_folder(chosen: Path | None, seed: int) -> Path:
    """Where the pictures of a seed are kept, those of each version of the scenes by themselves."""
    base = chosen if chosen is not None else user_cache_path("latch-and-line") / "bench"
    return base / f"{seed}-{SIZE_PX}-scenes{SCENES_VERSION}"


def load_pictures(folder: Path, n: int) -> tuple[BenchPicture, ...]:
    """The first `n` pictures that are there."""
    files = sorted(folder.glob("*.json"))[:n]
    return tuple(
        picture_from_record(json.loads(file.read_text(encoding="utf-8")), file.with_suffix(".jpg")) for file in files
    )


def make_pictures(folder: Path, n: int, seed: int, python: str | None = None) -> None:
    """Render what is missing, in the environment that can.

    Raises
    ------
    CannotDo
        With how to make that environment, or with what it said.
    """
    if len(list(folder.glob("*.json"))) >= n:
        return
    interpreter = python or os.environ.get(RENDER_PYTHON) or str(PROJECT / ".render-venv" / "bin" / "python")
    command = [interpreter, "-m", "sample_images.render.bench_scenes", "--out", str(folder.resolve())]
    command += ["--n", str(n), "--seed", str(seed), "--size", str(SIZE_PX), "--jobs", str(os.cpu_count() or 1)]
    sys.stderr.write(f"Rendering {n} pictures into {folder} ({SIZE_AND_TIME}).\n")
    try:
        ran = subprocess.run(command, cwd=PROJECT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    except OSError as fault:
        raise CannotDo(_HOW_TO_RENDER) from fault
    if ran.returncode != 0:
        last = (ran.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise CannotDo(_HOW_TO_RENDER if "ModuleNotFoundError" in last else f"The pictures could not be made: {last}")
