"""Zoom, pan, turn, light and fingers: the photo may lie anyhow on the screen, the points stay in its own pixels."""

from collections.abc import Callable

import pytest

from tests.screens.editor_page import EditorPage

Open = Callable[..., EditorPage]


def near(value: list[float], place: tuple[float, float], px: float) -> bool:
    return abs(value[0] - place[0]) <= px and abs(value[1] - place[1]) <= px


class Hand:
    """Fingers as the browser receives them from a screen, window CSS pixels."""

    def __init__(self, editor: EditorPage) -> None:
        self.session = editor.page.context.new_cdp_session(editor.page)

    def __call__(self, kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(places)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


def test_a_click_on_the_enlarged_photo_places_the_pixel_that_was_clicked(open_editor: Open) -> None:
    editor = open_editor()
    editor.page.mouse.move(*editor.where(900, 500))
    editor.stage.focus()
    for _ in range(5):
        editor.page.keyboard.press("+")
    editor.page.mouse.down()
    editor.page.mouse.move(*[a + 60 for a in editor.where(900, 500)], steps=4)
    editor.page.mouse.up()
    assert editor.value() is None, "a drag on the enlarged photo moves it and places nothing"
    editor.click(815, 655)
    value = editor.until(lambda v: bool(v["points"]))["points"]["mouth_corner"]
    assert near(value, (815, 655), 0.6)


def test_the_wheel_belongs_to_the_page_until_the_photo_has_been_pressed(open_editor: Open) -> None:
    editor = open_editor(height=500)
    before = editor.where(1200, 300)[0] - editor.where(400, 300)[0]
    editor.page.mouse.move(*editor.where(800, 300))
    editor.page.mouse.wheel(0, 120)
    editor.page.wait_for_timeout(300)
    assert editor.where(1200, 300)[0] - editor.where(400, 300)[0] == pytest.approx(before)
    editor.stage.scroll_into_view_if_needed()
    editor.click(800, 400)
    spot = editor.where(700, 400)
    editor.page.mouse.move(*spot)
    editor.page.mouse.wheel(0, -400)
    editor.page.wait_for_timeout(200)
    assert editor.where(1200, 300)[0] - editor.where(400, 300)[0] > 1.6 * before
    assert editor.where(700, 400) == pytest.approx(spot, abs=1), "the wheel zooms at the pointer"
    editor.button("Whole photo").click()
    assert editor.where(1200, 300)[0] - editor.where(400, 300)[0] == pytest.approx(before)


def test_the_first_step_of_the_zoom_button_brings_the_face_to_the_middle(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.button("Zoom in").click()
    editor.button("Zoom in").click()
    box = editor.stage.bounding_box()
    assert box is not None
    face = [(800, 560), (880, 500), (870, 640), (900, 430), (860, 700), (610, 430)]
    middle = [sum(place[axis] for place in face) / len(face) for axis in (0, 1)]
    assert editor.where(*middle) == pytest.approx((box["x"] + box["width"] / 2, box["y"] + box["height"] / 2), abs=2)


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_a_drag_on_the_turned_view_moves_the_point_to_the_pixel_under_the_pointer(
    open_editor: Open, turns: int
) -> None:
    editor = open_editor(start="full")
    for _ in range(turns):
        editor.button("Turn the view by 90 degrees").click()
    editor.page.keyboard.press("Escape")
    editor.drag((520, 1080), (640, 900))
    value = editor.until(lambda v: v["points"]["hip"][0] != 520)["points"]["hip"]
    assert near(value, (640, 900), 3)


def test_arrow_keys_follow_the_screen_when_the_view_is_turned(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.button("Turn the view by 90 degrees").click()
    editor.handle("hip").focus()
    editor.page.keyboard.press("ArrowRight")
    editor.until(lambda v: v["points"]["hip"][:2] == [520, 1079])


def test_a_fine_turn_and_light_change_the_view_and_no_point(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.button("Brightness, contrast and fine turn").click()
    editor.page.get_by_label("Brightness", exact=True).fill("1.5")
    editor.page.get_by_label("Contrast", exact=True).fill("0.8")
    editor.page.get_by_label("Turn", exact=True).fill("33")
    assert editor.picture.evaluate("p => getComputedStyle(p).filter") == "brightness(1.5) contrast(0.8)"
    assert editor.value() is None
    editor.page.keyboard.press("Escape")
    editor.drag((610, 430), (700, 380))
    value = editor.until(lambda v: v["points"]["ear"][0] != 610)["points"]
    assert near(value["ear"], (700, 380), 3)
    assert value["hip"][:2] == [520, 1080]


def test_a_finger_drags_a_point_and_sees_it_in_the_loupe(open_editor: Open) -> None:
    editor = open_editor(width=390, height=844, touch=True, start="full")
    hand = Hand(editor)
    editor.stage.scroll_into_view_if_needed()
    start, end = editor.where(520, 1080), editor.where(700, 900)
    hand("touchStart", start)
    for share in (0.3, 0.6, 1):
        hand("touchMove", tuple(a + (b - a) * share for a, b in zip(start, end, strict=True)))
    assert editor.stage.locator(".loupe").is_visible()
    hand("touchEnd")
    value = editor.until(lambda v: v["points"]["hip"][0] != 520)["points"]["hip"]
    assert near(value, (700, 900), 6)
    assert editor.stage.locator(".loupe").is_hidden()


def test_one_finger_scrolls_the_page_over_the_whole_photo_and_places_nothing(open_editor: Open) -> None:
    editor = open_editor(width=390, height=844, touch=True)
    hand = Hand(editor)
    scrolled = "() => document.querySelector('[data-testid=stMain]').scrollTop"
    before = editor.page.evaluate(scrolled)
    x, y = editor.where(800, 900)
    hand("touchStart", (x, y))
    for step in range(1, 12):
        hand("touchMove", (x, y - 18 * step))
        editor.page.wait_for_timeout(16)
    hand("touchEnd")
    editor.page.wait_for_timeout(300)
    assert editor.page.evaluate(scrolled) > before + 60
    assert editor.value() is None


def test_a_tap_places_and_a_held_press_places_where_the_finger_leaves(open_editor: Open) -> None:
    editor = open_editor(width=390, height=844, touch=True)
    hand = Hand(editor)
    editor.page.touchscreen.tap(*editor.where(800, 560))
    editor.until(lambda v: near(v["points"]["mouth_corner"], (800, 560), 3))
    x, y = editor.where(900, 500)
    hand("touchStart", (x, y))
    editor.page.wait_for_timeout(400)
    assert editor.stage.locator(".loupe").is_visible()
    for step in range(1, 7):
        hand("touchMove", (x + 2 * step, y - 4 * step))
    place = (x + 12, y - 24)
    hand("touchEnd")
    value = editor.until(lambda v: "upper_lip_edge" in v["points"])["points"]["upper_lip_edge"]
    drawn = editor.where(value[0], value[1])
    assert drawn == pytest.approx(place, abs=1.5)


def test_two_fingers_zoom_the_photo_between_them(open_editor: Open) -> None:
    editor = open_editor(width=390, height=844, touch=True)
    hand = Hand(editor)
    before = editor.where(1200, 300)[0] - editor.where(400, 300)[0]
    x, y = editor.where(800, 600)
    hand("touchStart", (x - 30, y), (x + 30, y))
    for spread in (40, 55, 70, 90):
        hand("touchMove", (x - spread, y), (x + spread, y))
    hand("touchEnd")
    assert editor.where(1200, 300)[0] - editor.where(400, 300)[0] == pytest.approx(3 * before, rel=0.05)
    assert editor.where(800, 600) == pytest.approx((x, y), abs=2)
    assert editor.value() is None


def test_everything_that_is_pressed_is_at_least_44_css_pixels_wide_and_high(open_editor: Open) -> None:
    editor = open_editor(width=390, height=844, touch=True, start="proposed")
    small = editor.page.evaluate(
        """() => {
          const root = [...document.querySelectorAll('*')].find((n) => n.shadowRoot?.querySelector('.editor')).shadowRoot;
          const pressed = [...root.querySelectorAll('button, .headchoice')].filter((n) => n.offsetParent !== null);
          return [pressed.length, pressed.filter((n) => {
            const box = n.getBoundingClientRect();
            return box.width < 43.5 || box.height < 43.5;
          }).map((n) => n.getAttribute('aria-label') || n.textContent)];
        }"""
    )
    assert small[0] > 40
    assert small[1] == []


def test_at_phone_width_nothing_is_cut_off_and_the_list_comes_after_the_photo(open_editor: Open) -> None:
    editor = open_editor(width=390, height=844)
    assert editor.page.evaluate("() => document.documentElement.scrollWidth") <= 390
    photo, points = editor.stage.bounding_box(), editor.page.get_by_label("Points", exact=True).bounding_box()
    assert photo is not None
    assert points is not None
    assert points["y"] > photo["y"] + photo["height"]
    assert points["x"] + points["width"] <= 390
