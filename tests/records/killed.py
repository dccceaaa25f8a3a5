"""Processes killed at one step after the other by `nursery.py`, and what is found of their work afterwards."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from records_scene import Scene, make_scene
from sqlalchemy import text

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
needs_signals = pytest.mark.skipif(
    not hasattr(os, "fork"), reason="processes are killed by signal 9, which Windows lacks"
)


def run_nursery(action: str, template: Path, out: Path, shim: Path | None = None, *, stride: int = 1) -> list[Path]:
    """The folders that the children left behind, the last of them by one that lived."""
    environment = {**os.environ, "PYTHONPATH": f"{ROOT}{os.pathsep}{HERE}"}
    arguments = [sys.executable, str(HERE / "nursery.py"), action, str(template), str(out), str(stride)]
    if shim is not None:
        environment["LD_PRELOAD"] = str(shim)
        arguments.append(str(shim))
    out.mkdir()
    done = subprocess.run(arguments, env=environment, cwd=out, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr
    return [out / str(step) for step in range(1, int(done.stdout) + 1, stride)]


def outcomes(folders: list[Path], look: Callable[[Scene], str]) -> list[str]:
    """What `look` calls the state of each folder, opened anew, with the database's own check besides."""
    found = []
    for folder in folders:
        scene = make_scene(folder)
        with scene.store.reading() as session:
            assert session.scalar(text("PRAGMA integrity_check")) == "ok"
            assert session.execute(text("PRAGMA foreign_key_check")).all() == []
        found.append(look(scene))
        scene.store.close()
    return found


def assert_old_then_new(found: list[str], *, least: int) -> None:
    """Both outcomes occur among the killed (the last one lived), and no later step falls back to the old state."""
    assert len(found) >= least
    assert set(found[:-1]) == {"old", "new"}
    assert found == sorted(found, reverse=True)
