"""Asks axe-core about every page of the main job and of the review; a tool of its own, as no test needs it:

    pip install axe-playwright-python==0.1.8 && python tests/axe_pages.py

(MIT; it carries axe-core 4.12.1 under the MPL-2.0.) Prints each rule that a page breaks with its weight, and ends with 1
where a serious or critical one is. What it found first is kept by tests/disabilities.
"""

import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.disabilities import walks
from tests.served import CHROMIUM, CHROMIUM_FLAGS, serve, stop

HEAVY = ("serious", "critical")


def breaches(page: Page, axe: Any) -> list[tuple[str, str, int, str]]:
    """(rule, weight, how many places, the first of them) that axe finds on the page."""
    page.wait_for_timeout(900)
    found = axe.run(page).response["violations"]
    return [(one["id"], one["impact"], len(one["nodes"]), one["nodes"][0]["html"][:160]) for one in found]


def walk(browser: Browser, axe: Any, way: Callable[[Page, str], Iterator[str]]) -> int:
    """Walk one way on a data folder of its own; how many heavy breaches there were."""
    with tempfile.TemporaryDirectory() as folder:
        url, process = serve("app.py", Path(folder) / "log", {"LATCH_AND_LINE_DATA": f"{folder}/data"})
        page = browser.new_page(viewport={"width": 1360, "height": 900})
        page.set_default_timeout(60_000)
        heavy = 0
        try:
            for step in way(page, url):
                for rule, weight, n, place in breaches(page, axe):
                    heavy += weight in HEAVY
                    sys.stdout.write(f"{step}: {weight} {rule} ({n}) {place}\n")
        finally:
            page.close()
            stop(process)
    return heavy


def main() -> int:
    """Walk both ways."""
    from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-not-found]

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)
        heavy = sum(walk(browser, Axe(), way) for way in (walks.main_job, walks.review))
        browser.close()
    sys.stdout.write(f"{heavy} serious or critical\n")
    return int(heavy > 0)


if __name__ == "__main__":
    raise SystemExit(main())
