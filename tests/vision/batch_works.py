"""What the processes of a batch do in the tests; a module of its own, since a fresh process must find it."""

import os
import signal
import time
from collections.abc import Mapping
from typing import Any


def count_bytes(name: str, data: bytes) -> Mapping[str, Any]:
    """How long the file is, and which process looked."""
    return {"photo": name, "length": len(data), "process": os.getpid()}


def die_of_poison(name: str, data: bytes) -> Mapping[str, Any]:
    """The process ends at once where the file says poison."""
    if data == b"poison":
        os.kill(os.getpid(), signal.SIGKILL)
    return count_bytes(name, data)


def measure_slowly(name: str, data: bytes) -> Mapping[str, Any]:
    """The real measuring, slow enough to be caught in the middle."""
    from vision.commands.batch_workers import measure_bytes

    time.sleep(0.5)
    return measure_bytes(name, data)
