"""Model files of a package that were cut off or removed: told before a C++ library sees them."""

import base64
import hashlib
import os
import shutil
import subprocess
import sys
from importlib.metadata import Distribution, distribution
from pathlib import Path

import pytest

from vision.installed_files import damaged_files, damaged_in
from vision.mediapipe_models import _MODEL_FOLDERS as FOLDERS

ENDINGS = (".tflite", ".binarypb")
MODELS = [
    "face_landmark/face_landmark.tflite",
    "pose_landmark/pose_landmark_full.tflite",
    "face_detection/face_detection_full_range_sparse.tflite",
    "face_landmark/face_landmark_front_cpu.binarypb",
]


def installed(folder: Path, files: dict[str, bytes]) -> Distribution:
    """A package as an installer leaves it, with the list of its files."""
    notes = folder / "toy-1.dist-info"
    notes.mkdir(parents=True)
    lines = ["toy-1.dist-info/RECORD,,"]
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
        sha256 = base64.urlsafe_b64encode(hashlib.sha256(data).digest()).rstrip(b"=").decode()
        lines.append(f"{name},sha256={sha256},{len(data)}")
    (notes / "RECORD").write_text("\n".join(lines))
    (notes / "METADATA").write_text("Name: toy\nVersion: 1\n")
    return Distribution.at(notes)


def test_files_that_were_cut_off_changed_or_removed_are_named(tmp_path: Path) -> None:
    files = {f"toy/models/{name}": name.encode() * 900 for name in ("a.net", "b.net", "c.net", "d.net", "notes.txt")}
    toy = installed(tmp_path, files)
    assert damaged_in(toy, ("toy/models/",), (".net",)) == ()
    (tmp_path / "toy/models/a.net").write_bytes(files["toy/models/a.net"][:-1])
    (tmp_path / "toy/models/b.net").unlink()
    (tmp_path / "toy/models/d.net").write_bytes(files["toy/models/d.net"].replace(b"d", b"D", 1))
    (tmp_path / "toy/models/notes.txt").unlink()
    assert damaged_in(toy, ("toy/models/",), (".net",)) == tuple(f"toy/models/{n}.net" for n in "abd")
    assert damaged_in(toy, ("toy/other/",), (".net",)) == ()


def test_the_models_of_the_installed_wheel_are_among_what_is_looked_at_and_are_sound() -> None:
    asked = {str(path) for path in distribution("mediapipe").files or () if str(path).startswith(FOLDERS)}
    assert {f"mediapipe/modules/{name}" for name in MODELS} <= asked
    assert damaged_files("mediapipe", FOLDERS, ENDINGS) == ()


@pytest.mark.parametrize("name", MODELS)
@pytest.mark.parametrize("left", [0, 0.3])
def test_half_a_model_file_ends_in_a_sentence_and_not_in_the_end_of_the_process(
    tmp_path: Path, name: str, left: float
) -> None:
    """The file is covered by half of itself for one child process only."""
    if shutil.which("unshare") is None or not sys.platform.startswith("linux") or os.geteuid() != 0:
        pytest.skip("a file can be covered for one process by root on Linux only")
    model = Path(str(distribution("mediapipe").locate_file(f"mediapipe/modules/{name}")))
    half = tmp_path / "half"
    half.write_bytes(model.read_bytes()[: int(left * model.stat().st_size)])
    program = (
        "import numpy as np\n"
        "from vision.detect import default_detector\n"
        "for _ in range(2): print(default_detector().detect(np.zeros((64, 64, 3), np.uint8), None).notes[-1])\n"
    )
    ran = subprocess.run(
        ["unshare", "--mount", "sh", "-c", 'mount --bind "$1" "$2" && exec "$3" -c "$4"', "sh",
         str(half), str(model), sys.executable, program],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    if "unshare" in ran.stderr or "mount:" in ran.stderr:
        pytest.skip("this container lets nobody cover a file")
    assert ran.returncode == 0, ran.stderr
    said = ran.stdout.strip().splitlines()
    assert len(said) == 2
    assert said[0] == said[1]
    assert f"its file {model.name} is missing or damaged; place the points by hand" in said[0]
