"""A real server on loopback and a real Chromium for the journeys."""

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Response, expect, sync_playwright

PROJECT = Path(__file__).resolve().parent.parent.parent
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
# Pages of a busy machine take their time.
expect.set_options(timeout=20_000)
CHROMIUM_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Server:
    """A running program: where it answers, where its data lie."""

    url: str
    data: Path
    process: subprocess.Popen[bytes]


DEEP_LINK_PROBE = re.compile(r"://localhost:\d+/[a-z]+/_stcore/(health|host-config)$")


def is_fault(message: ConsoleMessage) -> bool:
    """Whether a console line tells of a fault that the answers do not tell already."""
    return message.type == "error" and not DEEP_LINK_PROBE.search(message.location.get("url", ""))


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def start_server(data: Path, log: Path) -> Server:
    port = free_port()
    command = [sys.executable, "-m", "streamlit", "run", "app.py", f"--server.port={port}", "--server.headless=true"]
    env = {**os.environ, "LATCH_AND_LINE_DATA": str(data)}
    with log.open("ab") as out:
        process = subprocess.Popen(command, cwd=PROJECT, env=env, stdout=out, stderr=subprocess.STDOUT)
    url = f"http://localhost:{port}"
    for _ in range(300):
        try:
            with urllib.request.urlopen(f"{url}/_stcore/health", timeout=1):
                return Server(url=url, data=data, process=process)
        except OSError:
            if process.poll() is not None:
                break
            time.sleep(0.1)
    process.kill()
    raise RuntimeError(f"the program did not start:\n{log.read_text()}")


@pytest.fixture
def run_program(tmp_path: Path) -> Iterator[Callable[[], Server]]:
    """Starts the program on one data folder, as often as asked (a restart keeps the data)."""
    started: list[Server] = []

    def start() -> Server:
        for old in started:
            old.process.terminate()
            old.process.wait(timeout=20)
        server = start_server(tmp_path / "data", tmp_path / "server.log")
        started.append(server)
        return server

    yield start
    for server in started:
        if server.process.poll() is None:
            server.process.terminate()
            server.process.wait(timeout=20)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        if os.environ.get("REQUIRE_BROWSER"):
            pytest.fail("REQUIRE_BROWSER is set and no Chromium was found")
        pytest.skip("no Chromium on this machine: install Debian's package chromium to run the journeys")
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)
        yield running
        running.close()


@pytest.fixture
def page(browser: Browser, run_program: Callable[[], Server]) -> Iterator[Page]:  # noqa: ARG001  (closed before the program)
    """A page that, at its end, has loaded nothing from elsewhere and met no refused answer and no error."""
    context = browser.new_context(viewport={"width": 1360, "height": 900}, accept_downloads=True)
    tab = context.new_page()
    tab.set_default_timeout(20_000)
    faults: list[str] = []

    def check(response: Response) -> None:
        # Opened below its root, Streamlit's page first asks for its server beside that address, then above it.
        if response.status == 404 and DEEP_LINK_PROBE.search(response.url):
            return
        if response.status >= 400:
            faults.append(f"{response.status} {response.url}")
        if not response.url.startswith(("http://localhost:", "data:", "blob:")):
            faults.append(f"from elsewhere: {response.url}")

    tab.on("response", check)
    tab.on("pageerror", lambda error: faults.append(f"script error: {error}"))
    tab.on("console", lambda message: faults.append(f"console: {message.text}") if is_fault(message) else None)
    yield tab
    context.close()
    assert faults == []
