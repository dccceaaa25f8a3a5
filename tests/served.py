"""A Streamlit server on loopback and the Chromium that visits it, for every test that needs a browser."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Mapping
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
CHROMIUM_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


def free_port() -> int:
    """A port of loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def serve(
    script: str, log: Path, environment: Mapping[str, str], port: int | None = None
) -> tuple[str, subprocess.Popen[bytes]]:
    """Start a script as a person would and wait until it is healthy; returns its address and its process."""
    port = port or free_port()
    command = [sys.executable, "-m", "streamlit", "run", script, f"--server.port={port}", "--server.headless=true"]
    with log.open("ab") as out:
        env = {**os.environ, **environment}
        process = subprocess.Popen(command, cwd=PROJECT, env=env, stdout=out, stderr=subprocess.STDOUT)
    url = f"http://localhost:{port}"
    for _ in range(300):
        try:
            with urllib.request.urlopen(f"{url}/_stcore/health", timeout=1):
                return url, process
        except OSError:
            if process.poll() is not None:
                break
            time.sleep(0.1)
    process.kill()
    raise RuntimeError(f"{script} did not start:\n{log.read_text()}")


def stop(process: subprocess.Popen[bytes]) -> None:
    """End a server that still runs."""
    if process.poll() is None:
        process.terminate()
        process.wait(timeout=20)
