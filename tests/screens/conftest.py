"""The tiny app around the editor, for tests/screens/test_editor_*.py."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Response

from tests.screens.editor_page import EditorPage
from tests.served import PROJECT, serve, stop

HERE = Path(__file__).resolve().parent


@pytest.fixture(scope="session")
def editor_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    log = tmp_path_factory.mktemp("editor") / "server.log"
    url, process = serve(str(HERE / "editor_app.py"), log, {"PYTHONPATH": str(PROJECT)})
    yield url
    stop(process)


@pytest.fixture
def open_editor(browser: Browser, editor_url: str) -> Iterator[Callable[..., EditorPage]]:
    """Opens the editor with a query; at the end nothing may have been refused and no script may have failed."""
    faults: list[str] = []
    contexts = []

    def note(response: Response) -> None:
        if response.status >= 400:
            faults.append(f"{response.status} {response.url}")

    def opened(*, width: int = 1280, height: int = 900, touch: bool = False, **query: str) -> EditorPage:
        context = browser.new_context(viewport={"width": width, "height": height}, has_touch=touch)
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
