"""How long photo → overlay takes beside the bare minimum, and how much memory `measure` needs: `python tests/bench_photo.py`.

The photo is a 12-megapixel JPEG made from the portrait that scikit-image carries. In each round the ways are timed one
after the other, models warm; the ratio is the median of the rounds' own ratios, so that another program's load falls on
both. Budget: at most 2 times the decoding plus one plain pass of each model, and at most 700 MB.
"""

import io
import json
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import skimage.data
from mediapipe.python import solutions
from PIL import Image

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from vision.detect import Box, Detector, default_detector  # noqa: E402 - the project is not installed
from vision.images import read_photo  # noqa: E402
from vision.measures import measure_all, with_default_sigmas  # noqa: E402
from vision.overlay import draw_overlay  # noqa: E402

ROUNDS = 25
LONGEST = 1600
BUDGET_RATIO = 2.0
BUDGET_MB = 700.0


def photo_bytes() -> bytes:
    """A 4000 × 3000 JPEG with one face about 580 px wide, and grain so that it is as heavy as a phone's."""
    portrait = cv2.resize(skimage.data.astronaut(), (3000, 3000), interpolation=cv2.INTER_CUBIC)
    pixels = np.full((3000, 4000, 3), 170, np.uint8)
    pixels[:, 500:3500] = portrait
    grain = np.random.default_rng(0).normal(0, 8, pixels.shape)
    noisy = np.clip(pixels + grain, 0, 255).astype(np.uint8)
    target = io.BytesIO()
    Image.fromarray(noisy).save(target, "JPEG", quality=90)
    return target.getvalue()


def bare(data: bytes, pose: solutions.pose.Pose, face_mesh: solutions.face_mesh.FaceMesh) -> None:
    """Decode, and one plain pass of each model."""
    pixels = np.asarray(Image.open(io.BytesIO(data)).convert("RGB"))
    assert pose.process(pixels).pose_landmarks is not None
    assert face_mesh.process(pixels).multi_face_landmarks is not None


def whole(data: bytes, detector: Detector, box: Box | None) -> int:
    """Photo bytes to overlay; how many points were found."""
    photo = read_photo(data)
    landmarks = with_default_sigmas(detector.detect(photo.pixels, box).landmarks)
    draw_overlay(photo, landmarks, measure_all(landmarks), longest=LONGEST)
    return len(landmarks.points)


def steps(data: bytes, detector: Detector) -> dict[str, float]:
    """Milliseconds of each step of `whole`, median of nine."""
    photo = read_photo(data)
    landmarks = with_default_sigmas(detector.detect(photo.pixels, None).landmarks)
    measures = measure_all(landmarks)
    todo: dict[str, Callable[[], object]] = {
        "read_photo": lambda: read_photo(data),
        "detect": lambda: detector.detect(photo.pixels, None),
        "measure": lambda: measure_all(landmarks),
        "overlay": lambda: draw_overlay(photo, landmarks, measures, longest=LONGEST),
    }
    return {name: round(statistics.median(timed(step) for _ in range(9)), 1) for name, step in todo.items()}


def timed(step: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    """Milliseconds that it took by that clock."""
    start = clock()
    step()
    return 1000 * (clock() - start)


def ratio(times: list[float], bare_times: list[float]) -> float:
    """Median over the rounds of one time over the bare one of the same round."""
    return round(statistics.median(a / b for a, b in zip(times, bare_times, strict=True)), 2)


def peak_mb(data: bytes) -> float:
    """Peak memory of `python -m vision measure` on the photo, overlay included, in MB."""
    program = (
        "import resource, subprocess, sys; "
        "subprocess.run([sys.executable, '-m', 'vision', 'measure', *sys.argv[1:]], check=True, stdout=subprocess.DEVNULL); "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    with tempfile.TemporaryDirectory() as folder:
        photo = Path(folder) / "photo.jpg"
        photo.write_bytes(data)
        arguments = [str(photo), "--json", "--overlay", folder]
        ran = subprocess.run(
            [sys.executable, "-c", program, *arguments], cwd=ROOT, check=True, capture_output=True, text=True
        )
    # Linux counts in KiB, macOS in bytes.
    return float(ran.stdout) / (1024 if sys.platform != "darwin" else 1024**2) * 1.048576


def main() -> int:
    """Print a table and a JSON line; exit code 1 where a budget is exceeded."""
    data = photo_bytes()
    detector = default_detector()
    pose = solutions.pose.Pose(static_image_mode=True)
    face_mesh = solutions.face_mesh.FaceMesh(static_image_mode=True)
    bare(data, pose, face_mesh)
    found = whole(data, detector, None)
    times: dict[str, list[float]] = {"bare": [], "whole": [], "boxed": []}
    box = Box(x=500, y=0, width=3000, height=3000)
    for _ in range(ROUNDS):
        times["bare"].append(timed(lambda: bare(data, pose, face_mesh)))
        times["whole"].append(timed(lambda: whole(data, detector, None)))
        times["boxed"].append(timed(lambda: whole(data, detector, box)))
    # Processor time of all threads hardly feels what else the machine does.
    cpu = {
        "bare": [timed(lambda: bare(data, pose, face_mesh), time.process_time) for _ in range(9)],
        "whole": [timed(lambda: whole(data, detector, None), time.process_time) for _ in range(9)],
    }
    median = {name: statistics.median(values) for name, values in times.items()}
    result = {
        "photo_megapixels": 12.0,
        "photo_mb": round(len(data) / 1e6, 1),
        "points_found": found,
        "bare_ms": round(median["bare"], 1),
        "photo_to_overlay_ms": round(median["whole"], 1),
        "photo_to_overlay_with_box_ms": round(median["boxed"], 1),
        "ratio": ratio(times["whole"], times["bare"]),
        "ratio_with_box": ratio(times["boxed"], times["bare"]),
        "ratio_of_processor_time": ratio(cpu["whole"], cpu["bare"]),
        "steps_ms": steps(data, detector),
        "measure_peak_mb": round(peak_mb(data), 0),
    }
    for name, value in result.items():
        print(f"{name:32} {value}")
    print(json.dumps(result))
    over = max(result["ratio"], result["ratio_with_box"]) > BUDGET_RATIO or result["measure_peak_mb"] > BUDGET_MB
    print("over budget" if over else "within budget")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
