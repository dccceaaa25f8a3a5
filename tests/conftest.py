"""For all tests: the one sentence where this Python cannot hold the packages, no deadlines, and one browser."""

import gc
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from vision.machine import what_this_machine_lacks

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# A busy machine is no broken promise.
settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")


def pytest_configure(config: pytest.Config) -> None:  # noqa: ARG001
    if lacking := what_this_machine_lacks():
        pytest.exit(lacking.replace("streamlit run app.py", "pytest"), returncode=2)


def pytest_collection_finish(session: pytest.Session) -> None:  # noqa: ARG001
    # Every page run in a test collects all generations of garbage; what was imported never becomes any.
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def browser() -> "Iterator[Browser]":
    """One Chromium for all tests; without one they skip and say so, unless REQUIRE_BROWSER is set."""
    from playwright.sync_api import expect, sync_playwright

    from tests.served import CHROMIUM, CHROMIUM_FLAGS

    if CHROMIUM is None:
        if os.environ.get("REQUIRE_BROWSER"):
            pytest.fail("REQUIRE_BROWSER is set and no Chromium was found")
        pytest.skip("no Chromium on this machine: install Debian's package chromium to run the tests in a browser")
    # Pages of a busy machine take their time.
    expect.set_options(timeout=20_000)
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)
        yield running
        running.close()
