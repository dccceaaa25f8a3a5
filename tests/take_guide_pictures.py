"""Makes the pictures of the guides from the running program: `python tests/take_guide_pictures.py [NAME ...]`.

A school is set up in a folder of its own, a browser walks through it as each of the three users, and every picture is
written to `screens/guide/pictures`. With names only those pictures are written anew.
"""

import io
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.journeys.people import (
    answer_all,
    begin,
    open_start,
    place,
    press,
    sample,
    say_when_and_where,
    settle,
    sign_in,
)
from tests.journeys.school import School, give, open_school, records_of, student, works
from tests.served import CHROMIUM, CHROMIUM_FLAGS, PROJECT, serve, stop
from vision.landmarks import LANDMARK_NAMES

FOLDER = PROJECT / "screens" / "guide" / "pictures"
NAMES = ("cradle_side", "medium_side", "narrow_side", "cradle_front", "laid_back_side")
SIZE = {"width": 1180, "height": 820}


class Camera:
    """Writes what a page shows, from its top or from a heading on."""

    def __init__(self, wanted: set[str]) -> None:
        self.wanted = wanted

    def take(self, page: Page, name: str, *, at: str | None = None) -> None:
        """One picture; `at` is a text that shall stand near the top."""
        if self.wanted and name not in self.wanted:
            return
        page.mouse.move(3, 3)
        page.evaluate("document.querySelector('[data-testid=stMain]')?.scrollTo(0, 0)")
        if at is not None:
            page.get_by_text(at).first.evaluate("e => e.scrollIntoView({block: 'start'})")
            page.evaluate("document.querySelector('[data-testid=stMain]')?.scrollBy(0, -90)")
        page.wait_for_timeout(1200)
        with Image.open(io.BytesIO(page.screenshot())) as shot:
            shot.convert("RGB").save(FOLDER / f"{name}.webp", quality=82, method=6)
        sys.stdout.write(f"{name}\n")


def alone(camera: Camera, page: Page, url: str) -> None:
    """The main job, as someone who works alone on one computer."""
    truth = sample("narrow_side")
    open_start(page, url)
    camera.take(page, "start")
    begin(page, truth["title"])
    say_when_and_where(page, "At the breast", "Side")
    answer_all(page, ["Seen", "Not seen", "Can't tell from this photo"])
    camera.take(page, "score")
    press(page, "Next: Points and measures")
    for name, point in truth["landmarks"].items():
        place(page, LANDMARK_NAMES[name], point["x"], point["y"], (truth["width"], truth["height"]))
    page.get_by_role("radio", name="side, 90 degrees").check(force=True)
    settle(page)
    camera.take(page, "points")
    press(page, "Next: Score again")
    answer_all(page, ["Seen", "Not seen", "Seen"])
    camera.take(page, "score_again")
    press(page, "Next: Hand in")
    camera.take(page, "hand_in")
    press(page, "Hand in")
    camera.take(page, "feedback")


def as_student(camera: Camera, page: Page, url: str) -> None:
    """Class work and one's own progress."""
    sign_in(page, url, "wren")
    page.get_by_role("link", name="Class work", exact=True).click()
    settle(page)
    camera.take(page, "class_work")
    page.get_by_role("link", name="My progress", exact=True).click()
    settle(page)
    camera.take(page, "progress")


def as_instructor(camera: Camera, page: Page, url: str, work: str) -> None:
    """A class, its work, the review of the example class, and one student's work."""
    page.get_by_role("link", name="Classes", exact=True).click()
    settle(page)
    press(page, "Open")
    camera.take(page, "class")
    page.goto(f"{url}/given?work={work}")
    settle(page)
    camera.take(page, "given")
    page.goto(f"{url}/review?work={work}")
    settle(page)
    page.goto(url)
    settle(page)
    press(page, "Make the example and open its review")
    page.get_by_role("heading", name="Review: Doll photos (example)").wait_for()
    settle(page)
    camera.take(page, "review")
    page.get_by_role("button", name="Open on the projector").first.click()
    settle(page)
    camera.take(page, "projector")
    page.goto(f"{url}/review?work={work}")
    settle(page)
    page.get_by_role("radio", name="Students").or_(page.get_by_role("button", name="Students")).first.click()
    settle(page)
    page.get_by_role("button", name="Open it", exact=True).first.click()
    settle(page)
    camera.take(page, "submission")


def as_educator(camera: Camera, page: Page, url: str, school: School) -> None:
    """Consents, a set, its photos and keys."""
    page.get_by_role("link", name="Consents", exact=True).click()
    settle(page)
    camera.take(page, "consents")
    page.get_by_role("link", name="Teaching sets", exact=True).click()
    settle(page)
    camera.take(page, "sets")
    page.get_by_label("Title of a new set").fill("Second looks")
    press(page, "Begin a set")
    press(page, "Add many photos at once")
    camera.take(page, "many_photos")
    page.goto(f"{url}/set?version={school.version_id}")
    settle(page)
    camera.take(page, "published")


def open_the_school(folder: Path) -> tuple[School, str]:
    """A class of three, who handed in some of the work."""
    with records_of(folder) as store:
        school = open_school(store, NAMES, consented=True)
        work = give(store, school)
        for number, handle in enumerate(("wren", "finch", "robin")):
            person = student(store, school, handle)
            for slot in range(1, 4 - number):
                works(store, school, person, work, slot, apart=number + slot)
    return school, work


def walk(browser: Browser, environment: dict[str, str], job: Callable[[Page, str], None]) -> None:
    """Start the program on a data folder and walk through it in a profile of its own."""
    log = Path(environment["LATCH_AND_LINE_DATA"]).parent / "server.log"
    url, process = serve("app.py", log, environment)
    context = browser.new_context(viewport=SIZE)
    try:
        page = context.new_page()
        page.set_default_timeout(90_000)
        job(page, url)
    finally:
        context.close()
        stop(process)


def main() -> None:
    """Walk and write."""
    camera = Camera(set(sys.argv[1:]))
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        school, work = open_the_school(Path(folder) / "school" / "data")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)

        def in_school(page: Page, url: str) -> None:
            sign_in(page, url, "heron")
            as_instructor(camera, page, url, work)
            as_educator(camera, page, url, school)

        Path(folder, "alone").mkdir()
        walk(browser, {"LATCH_AND_LINE_DATA": f"{folder}/alone/data"}, lambda page, url: alone(camera, page, url))
        in_the_school = {"LATCH_AND_LINE_DATA": f"{folder}/school/data"}
        walk(browser, in_the_school, lambda page, url: as_student(camera, page, url))
        walk(browser, in_the_school, in_school)
        browser.close()


if __name__ == "__main__":
    main()
