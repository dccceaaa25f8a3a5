"""Makes the README's screenshot from the running program: `python tests/take_screenshot.py`."""

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.journeys.people import begin, open_start, place, press, sample, say_when_and_where, settle
from tests.served import CHROMIUM, CHROMIUM_FLAGS, PROJECT, serve, stop
from vision.landmarks import LANDMARK_NAMES

SAMPLE = "narrow_side"
TARGET = PROJECT / "sample_images" / "screenshot.png"


def to_the_points(page: Page, url: str) -> None:
    """Open the sample and place its true points."""
    truth = sample(SAMPLE)
    open_start(page, url)
    begin(page, truth["title"])
    say_when_and_where(page, "At the breast", "Side")
    press(page, "Next: Points and measures")
    for name, point in truth["landmarks"].items():
        place(page, LANDMARK_NAMES[name], point["x"], point["y"], (truth["width"], truth["height"]))
    page.get_by_role("radio", name="side, 90 degrees").check(force=True)
    settle(page)
    page.mouse.move(5, 5)
    page.evaluate("document.querySelector('[data-testid=stMain]').scrollTo(0, 0)")
    page.wait_for_timeout(1500)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        url, process = serve("app.py", Path(folder) / "server.log", {"LATCH_AND_LINE_DATA": f"{folder}/data"})
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)
        try:
            page = browser.new_page(viewport={"width": 1360, "height": 1400})
            to_the_points(page, url)
            page.screenshot(path=TARGET)
        finally:
            browser.close()
            stop(process)


if __name__ == "__main__":
    main()
