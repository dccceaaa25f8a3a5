"""The command `bench` over a cache of pictures that a test has made, and what it says where it cannot."""

import ast
import io
import json
import os
import subprocess
from pathlib import Path

import numpy as np
import pytest
from scripted_models import ScriptedModels

from vision.bench import renders
from vision.bench.columns import detector_column, general_detector, plain_column
from vision.bench.groups import GROUPINGS
from vision.commands.command import run
from vision.detect import ElseDetector
from vision.detectors.mediapipe_detector import MediaPipeDetector
from vision.detectors.quarter_turns import QuarterTurns
from vision.images import Photo, encode_jpeg, read_photo

SEED = 4
RENDER_ENVIRONMENT = os.environ.get(renders.RENDER_PYTHON)


def record(number: int) -> dict:
    """As the renderer writes it: a small doll that looks to the right, from its right side."""
    rng = np.random.default_rng(number)
    at = {
        "mouth_corner": (190, 130), "upper_lip_edge": (205, 118), "lower_lip_edge": (202, 146), "nose_tip": (220, 100),
        "chin": (205, 170), "ear": (120, 110), "shoulder": (90, 200), "hip": (60, 290),
    }  # fmt: skip
    places = {name: np.array(place) + rng.normal(0, 2, 2) for name, place in at.items()}
    return {
        "doll": number // 2, "hold": "side_lying", "phase": "at_breast", "skin_tone": 1 + number % 8, "light": "dim",
        "blur_px": 1.2, "cover": "none", "width": 320, "height": 320, "roll_deg": 0.0, "head_yaw_deg": 80.0 + number,
        "camera_elevation_deg": 3.0, "body_view": "side", "mm_per_pixel": 0.7,
        "landmarks": {
            name: {"x": float(x), "y": float(y), "visibility": 1 if name == "hip" and number == 1 else 2}
            for name, (x, y) in places.items()
        },
        "true": {"face_size_mm": 70.0, "gape_angle": 95.0, "alignment_angle": 150.0 if number else None},
    }  # fmt: skip


@pytest.fixture
def cache(tmp_path: Path) -> Path:
    folder = renders.cache_folder(tmp_path, SEED)
    folder.mkdir()
    for number in range(4):
        (folder / f"{number:05d}.json").write_text(json.dumps(record(number)))
        (folder / f"{number:05d}.jpg").write_bytes(encode_jpeg(Photo(pixels=np.full((320, 320, 3), 99, np.uint8))))
    return tmp_path


def bench(*options: object) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = run(["bench", *(str(option) for option in options)], out=out, err=err)
    return code, out.getvalue(), err.getvalue()


def test_the_json_holds_every_grouping(cache: Path) -> None:
    code, out, err = bench("--json", "--n", 4, "--seed", SEED, "--cache", cache, "--columns", "clicks")
    assert (code, err) == (0, "")
    said = json.loads(out)
    assert (said["n"], said["seed"]) == (4, SEED)
    assert [row["n"] for row in said["rows"] if row["grouping"] == "all"] == [4]
    assert {row["group"] for row in said["rows"] if row["grouping"] == "blur"} == {"1.2 px"}
    whole = next(row for row in said["rows"] if row["grouping"] == "all")
    assert whole["measures"]["alignment_angle"]["n"] == 3
    assert whole["measures"]["alignment_angle"]["n_asked"] == 3
    assert whole["by_point"]["hip"]["n_asked"] == 3


def test_markdown_tables_a_plot_for_each_grouping_and_factors_are_written(cache: Path, tmp_path: Path) -> None:
    plots, factors = tmp_path / "plots", tmp_path / "factors.json"
    code, out, _ = bench(
        "--markdown", "--n", 4, "--seed", SEED, "--cache", cache, "--columns", "clicks", "--plots", plots,
        "--calibrate", factors,
    )  # fmt: skip
    assert code == 0
    assert "| clicks | 3 | 100 % |" in out
    names = sorted(path.name for path in plots.iterdir())
    assert "bench-skin-tone.png" in names
    assert len(names) == len(GROUPINGS)
    for path in plots.iterdir():
        picture = read_photo(path.read_bytes()).pixels
        assert picture.shape[1] > 1000
        assert np.mean(np.any(picture < 250, axis=2)) > 0.01
    assert json.loads(factors.read_text())["n_learned"] == 2


def test_where_nothing_can_render_the_command_says_how_to_make_that_environment(tmp_path: Path) -> None:
    code, out, err = bench("--n", 3, "--cache", tmp_path, "--columns", "clicks", "--render-python", tmp_path / "none")
    assert (code, out) == (2, "")
    assert "pip install -r sample_images/render/requirements.txt" in err.splitlines()[-1]


def test_a_renderer_that_lacks_its_packages_gets_the_same_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """This very Python has no body model; the environment variable names it as well as the option does."""
    lacking = tmp_path / "python"
    lacking.write_text("#!/bin/sh\necho \"ModuleNotFoundError: No module named 'anny'\" >&2\nexit 1\n")
    lacking.chmod(0o755)
    monkeypatch.setenv(renders.RENDER_PYTHON, str(lacking))
    code, _, err = bench("--n", 3, "--cache", tmp_path, "--columns", "clicks")
    assert code == 2
    assert "requirements.txt" in err.splitlines()[-1]


def test_pictures_of_earlier_scenes_lie_in_a_folder_that_is_not_read(tmp_path: Path) -> None:
    """The renderer's own number cannot be imported here: its packages are not in this environment."""
    tree = ast.parse((renders.PROJECT / "sample_images" / "render" / "bench_scenes.py").read_text(encoding="utf-8"))
    numbers = {
        ast.unparse(node.targets[0]): ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant)
    }
    assert numbers["VERSION"] == renders.SCENES_VERSION
    assert renders.cache_folder(tmp_path, 20).name == f"20-576-scenes{numbers['VERSION']}"


def test_an_unknown_column_is_refused(tmp_path: Path) -> None:
    code, _, err = bench("--columns", "theirs", "--cache", tmp_path)
    assert code == 2
    assert "ours,plain,clicks" in err


def test_a_broken_record_is_named(cache: Path) -> None:
    (renders.cache_folder(cache, SEED) / "00002.json").write_text('{"doll": 1}')
    code, _, err = bench("--n", 4, "--seed", SEED, "--cache", cache, "--columns", "clicks")
    assert code == 2
    assert "00002.jpg" in err


class PlainFake:
    """A mesh and a pose whose points lie at their own index, the subject's left side nearer to the camera."""

    def faces(self, pixels: np.ndarray) -> list[np.ndarray]:  # noqa: ARG002 - the protocol's signature
        mesh = np.array([[index, 1.0, 0.0] for index in range(468)])
        mesh[291, 2] = -5.0
        return [mesh]

    def pose(self, pixels: np.ndarray) -> np.ndarray | None:  # noqa: ARG002
        body = np.array([[index, 2.0, 0.0, 1.0] for index in range(33)])
        body[[7, 11, 23], 2] = -9.0
        return body


def test_the_plain_baseline_takes_the_models_points_of_the_nearer_side_as_they_come(cache: Path) -> None:
    """Indices V: face mesh corners 61 and 291, inner lips 13 and 14, chin 152, nose 4; pose ears 7 8, hips 23 24."""
    picture = renders.load_pictures(renders.cache_folder(cache, SEED), 1)[0]
    answer = plain_column(PlainFake).answer(picture)
    assert {name: point.x for name, point in answer.points.items()} == {
        "mouth_corner": 291, "upper_lip_edge": 13, "lower_lip_edge": 14, "chin": 152, "nose_tip": 4, "ear": 7,
        "shoulder": 11, "hip": 23,
    }  # fmt: skip
    assert answer.head_yaw is None


def test_the_general_column_leaves_the_side_view_network_out(cache: Path) -> None:
    """The models see nothing at four turns of the photo, and nobody else is asked."""
    picture = renders.load_pictures(renders.cache_folder(cache, SEED), 1)[0]
    models = ScriptedModels()
    assert not detector_column("general", lambda: general_detector(models)).answer(picture).points
    general = general_detector(models)
    assert isinstance(general, ElseDetector)
    assert isinstance(general.first, MediaPipeDetector)
    assert general.second == QuarterTurns(general.first)


@pytest.mark.skipif(RENDER_ENVIRONMENT is None, reason=f"{renders.RENDER_PYTHON} names no Python that can render")
def test_the_renderer_makes_the_same_pictures_from_the_same_seed(tmp_path: Path) -> None:
    for folder in ("one", "two"):
        command = [RENDER_ENVIRONMENT, "-m", "sample_images.render.bench_scenes", "--out", str(tmp_path / folder)]
        subprocess.run([*command, "--n", "2", "--seed", "3", "--size", "96"], cwd=renders.PROJECT, check=True)
    files = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert files == ["00000.jpg", "00000.json", "00001.jpg", "00001.json"]
    for name in files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    first, second = renders.load_pictures(tmp_path / "one", 2)
    assert first.doll == second.doll == 0
    assert first.gape_deg == second.gape_deg
    assert first.head_yaw_deg != second.head_yaw_deg
    assert first.pixels().shape == (72, 96, 3)
