"""The cover editor in a browser: draw, move, size, turn, remove, accept, crop, by mouse, finger and key."""

import json
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, Response, expect

from tests.served import PROJECT, serve, stop

HERE = Path(__file__).resolve().parent
WIDTH, HEIGHT = 1280, 960

# Where a photo pixel is drawn, from the picture element itself and not from the editor's own arithmetic.
_WHERE = """(picture, [x, y, width]) => {
  const style = getComputedStyle(picture);
  const stage = picture.parentElement.getBoundingClientRect();
  const share = parseFloat(style.width) / width;
  const at = new DOMMatrix(style.transform).transformPoint({ x: x * share, y: y * share });
  return [stage.left + at.x, stage.top + at.y];
}"""


@dataclass(frozen=True, kw_only=True)
class CoverPage:
    """One open cover editor."""

    page: Page

    @property
    def stage(self) -> Locator:
        return self.page.get_by_label("Photo with its covers")

    def where(self, x: float, y: float) -> tuple[float, float]:
        """CSS pixels of the window at which a photo pixel is drawn."""
        left, top = self.stage.locator("img").evaluate(_WHERE, [x, y, WIDTH])
        return left, top

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """By mouse, in photo pixels; the pointer goes in steps, as a hand does."""
        self.page.mouse.move(*self.where(*start))
        self.page.mouse.down()
        self.page.mouse.move(*self.where(*end), steps=6)
        self.page.mouse.up()

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name, exact=True)

    def cover(self, name: str) -> Locator:
        """A cover's own button on the photo."""
        return self.page.get_by_role("button", name=f"{name}. Arrow keys move it, Delete removes it.", exact=True)

    def value(self) -> dict[str, Any] | None:
        """What Python last received."""
        read: dict[str, Any] | None = json.loads(self.page.locator("code").first.inner_text())
        return read

    def until(self, met: Callable[[dict[str, Any]], bool], *, within_s: float = 8) -> dict[str, Any]:
        """Python's value once it meets the condition."""
        end = time.monotonic() + within_s
        while time.monotonic() < end:
            value = self.value()
            if value is not None and met(value):
                return value
            self.page.wait_for_timeout(40)
        raise AssertionError(f"Python never received what was waited for, last: {self.value()}")

    def only_area(self) -> dict[str, Any]:
        """The one cover that Python knows."""
        (area,) = self.until(lambda value: len(value["areas"]) == 1)["areas"]
        return dict(area)


Open = Callable[..., CoverPage]


@pytest.fixture(scope="module")
def cover_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    log = tmp_path_factory.mktemp("covers") / "server.log"
    url, process = serve(str(HERE / "cover_editor_app.py"), log, {"PYTHONPATH": str(PROJECT)})
    yield url
    stop(process)


@pytest.fixture
def open_covers(browser: Browser, cover_url: str) -> Iterator[Open]:
    """Opens the editor with a query; at the end nothing may have been refused and no script may have failed."""
    faults: list[str] = []
    contexts = []

    def note(response: Response) -> None:
        if response.status >= 400:
            faults.append(f"{response.status} {response.url}")

    def opened(query: str = "", *, width: int = 1360, height: int = 900, touch: bool = False) -> CoverPage:
        context = browser.new_context(viewport={"width": width, "height": height}, has_touch=touch)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("response", note)
        page.on("pageerror", lambda error: faults.append(f"script error: {error}"))
        page.goto(f"{cover_url}/?{query}")
        covers = CoverPage(page=page)
        covers.stage.wait_for()
        page.wait_for_function(
            "() => [...document.querySelectorAll('*')].some((node) => "
            "node.shadowRoot?.querySelector('.picture')?.naturalWidth > 0)"
        )
        page.locator("code").first.wait_for()
        page.wait_for_timeout(150)
        return covers

    yield opened
    for context in contexts:
        context.close()
    assert faults == []


def near(area: dict[str, Any], px: float = 2.5, **wanted: float) -> bool:
    return all(abs(area[name] - value) <= px for name, value in wanted.items())


def test_a_drag_across_the_photo_draws_a_cover_of_the_chosen_kind_and_shape(open_covers: Open) -> None:
    covers = open_covers()
    covers.button("Wristband").click()
    covers.drag((300, 500), (420, 560))
    area = covers.only_area()
    assert near(area, x=360, y=530, width=120, height=60, turn_deg=0)
    assert (area["kind"], area["shape"], area["by"]) == ("wristband", "rectangle", "educator")
    covers.button("Face").click()
    covers.drag((900, 100), (1100, 400))
    value = covers.until(lambda v: len(v["areas"]) == 2)
    assert near(value["areas"][1], x=1000, y=250, width=200, height=300)
    assert (value["areas"][1]["kind"], value["areas"][1]["shape"]) == ("face", "ellipse")
    assert value["saved"] == 2, "each edit was told once"


def test_a_click_that_moves_nothing_draws_nothing(open_covers: Open) -> None:
    covers = open_covers()
    covers.page.mouse.click(*covers.where(500, 700))
    covers.drag((500, 700), (503, 702))
    covers.page.wait_for_timeout(500)
    assert covers.value() is None


def test_a_cover_is_moved_sized_and_turned_by_mouse(open_covers: Open) -> None:
    covers = open_covers("card=1")
    covers.drag((400, 200), (500, 300))
    assert near(covers.only_area(), x=500, y=300, width=200, height=100)
    covers.drag((600, 350), (700, 450))
    area = covers.until(lambda v: v["areas"][0]["width"] > 250)["areas"][0]
    assert near(area, x=550, y=350, width=300, height=200), "the opposite corner stays"
    # The knob stands above the middle; a quarter turn clockwise brings it to the right.
    left, top = covers.where(550, 250)
    covers.page.mouse.move(left, top - 34)
    covers.page.mouse.down()
    covers.page.mouse.move(*covers.where(900, 351), steps=6)
    covers.page.mouse.up()
    area = covers.until(lambda v: v["areas"][0]["turn_deg"] != 0)["areas"][0]
    assert area["turn_deg"] == 90, "near a quarter turn it snaps"
    assert near(area, x=550, y=350, width=300, height=200)


def test_a_turned_cover_is_sized_along_its_own_sides(open_covers: Open) -> None:
    covers = open_covers("card=1")
    covers.button("Cover 1, name or card").click()
    covers.page.get_by_label("Turn °").fill("90")
    covers.until(lambda v: v["areas"][0]["turn_deg"] == 90)
    # Turned by 90 the card is 100 wide and 200 high on the photo: its lower right corner is at (450, 300).
    covers.drag((450, 300), (490, 340))
    area = covers.until(lambda v: v["areas"][0]["width"] > 205)["areas"][0]
    assert near(area, x=420, y=220, width=240, height=140)


def test_a_cover_is_moved_resized_and_removed_by_key(open_covers: Open) -> None:
    covers = open_covers("card=1")
    covers.cover("Cover 1, name or card").focus()
    for _ in range(3):
        covers.page.keyboard.press("ArrowRight")
    covers.page.keyboard.press("Shift+ArrowDown")
    assert near(covers.until(lambda v: v["areas"][0]["y"] > 205)["areas"][0], 0.01, x=403, y=210)
    covers.page.get_by_label("Width").fill("260")
    covers.page.get_by_role("combobox", name="Hides").select_option("Tattoo or mark")
    area = covers.until(lambda v: v["areas"][0]["kind"] == "tattoo" and v["areas"][0]["width"] == 260)["areas"][0]
    assert near(area, 0.01, x=403, y=210, height=100)
    covers.cover("Cover 1, tattoo or mark").focus()
    covers.page.keyboard.press("Delete")
    covers.until(lambda v: v["areas"] == [])
    covers.button("Undo").click()
    assert near(covers.only_area(), 0.01, x=403, width=260)


def test_without_a_mouse_a_cover_is_added_in_the_middle_and_is_in_focus(open_covers: Open) -> None:
    covers = open_covers()
    covers.button("Add one in the middle").focus()
    covers.page.keyboard.press("Enter")
    assert near(covers.only_area(), x=640, y=480)
    expect(covers.cover("Cover 1, face")).to_be_focused()
    covers.page.keyboard.press("ArrowLeft")
    assert near(covers.until(lambda v: v["areas"][0]["x"] < 639.5)["areas"][0], 0.01, x=639)


def test_a_proposal_stays_open_until_it_is_accepted_and_keeps_its_maker(open_covers: Open) -> None:
    covers = open_covers("proposal=1")
    expect(covers.page.get_by_role("heading", name="One proposal")).to_be_visible()
    covers.button("Wristband").click()
    covers.drag((300, 500), (420, 560))
    value = covers.until(lambda v: bool(v["areas"]))
    assert [area["by"] for area in value["proposals"]] == ["face finder"]
    covers.button("Cover it: Proposal 1, face").click()
    value = covers.until(lambda v: not v["proposals"])
    assert sorted(area["by"] for area in value["areas"]) == ["educator", "face finder"]
    expect(covers.page.get_by_role("heading", name="One proposal")).to_have_count(0)


def test_a_proposal_that_is_left_open_is_gone(open_covers: Open) -> None:
    covers = open_covers("proposal=1")
    covers.button("Leave it open: Proposal 1, face").click()
    value = covers.until(lambda v: not v["proposals"])
    assert value["areas"] == []


def test_a_proposal_that_is_dragged_is_decided_on(open_covers: Open) -> None:
    covers = open_covers("proposal=1")
    covers.drag((1100, 250), (1050, 300))
    value = covers.until(lambda v: bool(v["areas"]))
    assert value["proposals"] == []
    assert near(value["areas"][0], x=1092, y=331, width=349, height=414, turn_deg=-33)


def test_the_part_to_keep_is_drawn_resized_typed_and_given_up(open_covers: Open) -> None:
    covers = open_covers("card=1")
    covers.button("Crop").click()
    covers.drag((100, 100), (900, 700))
    crop = covers.until(lambda v: v["crop"] is not None)["crop"]
    assert crop == pytest.approx([100, 100, 800, 600], abs=2)
    covers.drag((900, 700), (1000, 800))
    crop = covers.until(lambda v: v["crop"][2] > 850)["crop"]
    assert crop == pytest.approx([100, 100, 900, 700], abs=4)
    covers.page.get_by_label("Width").fill("640")
    assert covers.until(lambda v: v["crop"][2] == 640)["crop"][0] == pytest.approx(100, abs=2)
    covers.button("Keep the whole photo").click()
    value = covers.until(lambda v: v["crop"] is None)
    assert len(value["areas"]) == 1, "the covers stay"


def test_a_crop_below_the_least_size_is_refused_in_words(open_covers: Open) -> None:
    covers = open_covers()
    covers.button("Crop").click()
    covers.drag((100, 100), (150, 150))
    expect(covers.page.get_by_text("must be at least 64 pixels").first).to_be_visible()
    assert covers.value() is None


def test_on_the_enlarged_photo_a_drag_covers_the_pixels_below_it(open_covers: Open) -> None:
    covers = open_covers()
    covers.stage.focus()
    for _ in range(4):
        covers.page.keyboard.press("+")
    covers.drag((600, 420), (700, 520))
    assert near(covers.only_area(), 1.0, x=650, y=470, width=100, height=100)


def test_one_finger_draws_and_two_fingers_zoom_on_a_phone(open_covers: Open) -> None:
    covers = open_covers(width=390, height=844, touch=True)
    session = covers.page.context.new_cdp_session(covers.page)

    def fingers(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(places)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    covers.stage.scroll_into_view_if_needed()
    fingers("touchStart", covers.where(300, 300))
    for step in range(1, 6):
        fingers("touchMove", covers.where(300 + 40 * step, 300 + 30 * step))
    fingers("touchEnd")
    assert near(covers.only_area(), 8, x=400, y=375, width=200, height=150)
    before = covers.where(1000, 500)[0] - covers.where(200, 500)[0]
    left, right = covers.where(500, 700), covers.where(700, 700)
    fingers("touchStart", left)
    fingers("touchStart", left, right)
    for step in range(1, 6):
        fingers("touchMove", (left[0] - 10 * step, left[1]), (right[0] + 10 * step, right[1]))
    fingers("touchEnd")
    covers.page.wait_for_timeout(300)
    assert covers.where(1000, 500)[0] - covers.where(200, 500)[0] > 1.5 * before
    assert len(covers.until(lambda v: bool(v["areas"]))["areas"]) == 1, "two fingers draw nothing"


def test_a_new_revision_of_python_is_adopted_and_can_be_undone(open_covers: Open) -> None:
    covers = open_covers()
    covers.drag((600, 600), (700, 700))
    covers.only_area()
    covers.button("New revision").click()
    expect(covers.cover("Cover 1, name or card")).to_be_visible()
    covers.page.wait_for_timeout(200)
    covers.button("Undo").click()
    assert near(covers.only_area(), x=650, y=650)


def test_undo_after_a_new_revision_brings_back_what_was_accepted_before(open_covers: Open) -> None:
    covers = open_covers("proposal=1")
    covers.button("Cover it: Proposal 1, face").click()
    covers.only_area()
    covers.button("New revision").click()
    expect(covers.cover("Cover 1, name or card")).to_be_visible()
    covers.page.wait_for_timeout(200)
    covers.button("Undo").click()
    area = covers.only_area()
    assert near(area, 0.01, x=1142, y=281, turn_deg=-33)
    assert covers.until(lambda v: bool(v["areas"]))["fault"] is None


def test_an_echo_of_python_moves_nothing(open_covers: Open) -> None:
    covers = open_covers()
    covers.drag((600, 600), (700, 700))
    before = covers.only_area()
    covers.button("Run again").click()
    covers.page.wait_for_timeout(600)
    assert covers.only_area() == before
    expect(covers.cover("Cover 1, face")).to_have_count(1)
