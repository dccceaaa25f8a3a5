"""The review of a large class is array work; the bench `tests/bench_class.py` prints what it takes."""

import json
import subprocess
import sys
from pathlib import Path

BENCH = Path(__file__).resolve().parent.parent / "bench_class.py"


def test_a_class_of_300_students_100_photos_and_20_signs_is_reviewed_in_seconds():
    """The aim is 2 s and 500 MB on two quiet cores; a busy machine is given more time, and no more memory."""
    done = subprocess.run([sys.executable, BENCH], capture_output=True, text=True, timeout=300, check=True)
    measured = json.loads(done.stdout)
    assert measured["processor_seconds"] < 6
    assert measured["peak_memory_mb"] < 500
    assert measured["findings"] >= 2  # the planted sign and photo
