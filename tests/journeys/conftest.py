"""The program on a data folder of its own, and a page that notices every fault."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Response

from tests.journeys.people import Server
from tests.served import serve, stop

DEEP_LINK_PROBE = re.compile(r"://localhost:\d+/[a-z-]+/_stcore/(health|host-config)$")


def is_fault(message: ConsoleMessage) -> bool:
    """Whether a console line tells of a fault that the answers do not tell already."""
    return message.type == "error" and not DEEP_LINK_PROBE.search(message.location.get("url", ""))


@pytest.fixture
def run_program(tmp_path: Path) -> Iterator[Callable[[], Server]]:
    """Starts the program on one data folder, as often as asked (a restart keeps the data)."""
    started: list[Server] = []

    def start() -> Server:
        for old in started:
            stop(old.process)
        url, process = serve("app.py", tmp_path / "server.log", {"LATCH_AND_LINE_DATA": str(tmp_path / "data")})
        started.append(Server(url=url, data=tmp_path / "data", process=process))
        return started[-1]

    yield start
    for server in started:
        stop(server.process)


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
