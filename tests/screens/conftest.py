"""A browser and the tiny app around the editor, for tests/screens/test_editor_*.py."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from editor_page import EditorPage
from playwright.sync_api import Browser, Response, sync_playwright

HERE = Path(__file__).resolve().parent
PROJECT = HERE.parent.parent
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
CHROMIUM_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Journeys come last: they keep one Playwright open to the end, and a second one cannot start beside it."""
    items.sort(key=lambda item: "journeys" in item.path.parts)


@pytest.fixture(scope="module")
def editor_browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        if os.environ.get("REQUIRE_BROWSER") == "1":
            pytest.fail("REQUIRE_BROWSER=1 and no Chromium was found")
        pytest.skip("no Chromium on this machine: install Debian's package chromium to run the editor's browser tests")
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="session")
def editor_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    log = tmp_path_factory.mktemp("editor") / "server.log"
    command = [sys.executable, "-m", "streamlit", "run", str(HERE / "editor_app.py"), f"--server.port={port}"]
    command += ["--server.headless=true", "--server.address=localhost"]
    with log.open("wb") as out:
        environment = {**os.environ, "PYTHONPATH": str(PROJECT)}
        process = subprocess.Popen(command, cwd=PROJECT, env=environment, stdout=out, stderr=subprocess.STDOUT)
    try:
        _wait_until_healthy(f"http://localhost:{port}", process, log)
        yield f"http://localhost:{port}"
    finally:
        process.terminate()
        process.wait(timeout=20)


def _wait_until_healthy(url: str, process: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(300):
        try:
            with urllib.request.urlopen(f"{url}/_stcore/health", timeout=1):
                return
        except OSError:
            if process.poll() is not None:
                break
            time.sleep(0.1)
    raise RuntimeError(f"the tiny app did not start:\n{log.read_text()}")


@pytest.fixture
def open_editor(editor_browser: Browser, editor_url: str) -> Iterator[Callable[..., EditorPage]]:
    """Opens the editor with a query; at the end nothing may have been refused and no script may have failed."""
    faults: list[str] = []
    contexts = []

    def note(response: Response) -> None:
        if response.status >= 400:
            faults.append(f"{response.status} {response.url}")

    def opened(*, width: int = 1280, height: int = 900, touch: bool = False, **query: str) -> EditorPage:
        context = editor_browser.new_context(viewport={"width": width, "height": height}, has_touch=touch)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("response", note)
        page.on("pageerror", lambda error: faults.append(f"script error: {error}"))
        return EditorPage.open(page, editor_url, query)

    yield opened
    for context in contexts:
        context.close()
    assert faults == []
