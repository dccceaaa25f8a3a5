"""What else the editor is for: pins, looking, marking, the blind second round, two photos; and the known traps."""

from collections.abc import Callable

from tests.screens.editor_page import EditorPage

Open = Callable[..., EditorPage]


def near(value: list[float], place: tuple[float, float], px: float) -> bool:
    return abs(value[0] - place[0]) <= px and abs(value[1] - place[1]) <= px


def test_a_click_pins_the_sign_in_hand_and_leaves_the_other_pins(open_editor: Open) -> None:
    editor = open_editor(mode="pins")
    editor.click(400, 300)
    editor.until(lambda v: near(v["pins"]["chin_touch"], (0.25, 0.25), 0.002))
    editor.click(1200, 900)
    pins = editor.until(lambda v: near(v["pins"]["chin_touch"], (0.75, 0.75), 0.002))["pins"]
    assert pins["nose_free"] == [0.56, 0.36]


def test_words_from_outside_are_shown_as_words_and_never_as_markup(open_editor: Open) -> None:
    editor = open_editor(mode="pins")
    assert editor.page.get_by_text("Chin <b>touches</b> the breast", exact=True).is_visible()


def test_looking_shows_own_and_reference_points_and_moves_none(open_editor: Open) -> None:
    editor = open_editor(mode="look", start="full")
    assert editor.page.get_by_text("reference: open crosses").is_visible()
    assert editor.stage.locator(".handle").count() == 8 + 8 + 2
    editor.drag((520, 1080), (640, 900))
    editor.page.keyboard.press("Delete")
    editor.page.wait_for_timeout(500)
    assert editor.value() is None
    assert editor.stage.locator(".handle[tabindex='0']").count() == 0


def test_a_marked_box_comes_back_in_photo_pixels_and_its_corners_can_be_dragged(open_editor: Open) -> None:
    editor = open_editor(mode="box")
    editor.drag((400, 200), (1000, 800))
    box = editor.until(lambda v: v["box"] is not None)["box"]
    assert near(box[:2], (400, 200), 3)
    assert near(box[2:], (600, 600), 5)
    editor.drag((1000, 800), (1100, 700))
    box = editor.until(lambda v: v["box"][2] > 650)["box"]
    assert near(box[:2], (400, 200), 3)
    assert near(box[2:], (700, 500), 6)
    editor.button("Remove the mark").click()
    editor.until(lambda v: v["box"] is None)


def test_in_placing_the_head_can_be_marked_and_placing_goes_on_after_it(open_editor: Open) -> None:
    editor = open_editor()
    editor.button("Mark the baby's head").click()
    editor.drag((400, 150), (950, 800))
    assert editor.until(lambda v: v["box"] is not None)["points"] == {}
    editor.click(800, 560)
    editor.until(lambda v: "mouth_corner" in v["points"])


def test_the_second_round_shows_neither_the_first_points_nor_the_numbers(open_editor: Open) -> None:
    editor = open_editor()
    for place in ((800, 560), (880, 500), (870, 640)):
        editor.click(*place)
    editor.until(lambda v: len(v["points"]) == 3)
    assert editor.card("gape_angle").is_visible()
    editor.button("Second round").click()
    editor.page.get_by_text("Second round: place the same points again").wait_for()
    editor.stage.scroll_into_view_if_needed()
    assert editor.stage.locator(".handle").count() == 0
    assert editor.page.locator(".numbers").is_hidden()
    assert editor.stage.locator(".number").count() == 0
    editor.click(804, 563)
    value = editor.until(lambda v: len(v["points"]) == 1)
    assert near(value["points"]["mouth_corner"], (804, 563), 1.2)
    assert editor.stage.locator(".number").count() == 0
    assert editor.page.locator(".editor").inner_text().count("°") == editor.page.locator(".heads").inner_text().count(
        "°"
    )


def test_two_photos_stand_side_by_side_and_only_the_first_takes_points(open_editor: Open) -> None:
    editor = open_editor(two="1")
    second = editor.page.get_by_label("Second photo, to look at")
    editor.page.wait_for_function("p => p.naturalWidth > 0", arg=second.locator("img").element_handle())
    first_box, second_box = editor.stage.bounding_box(), second.bounding_box()
    assert first_box is not None
    assert second_box is not None
    assert second_box["x"] > first_box["x"] + first_box["width"]
    before = second.locator("img").bounding_box()
    assert before is not None
    second.click()
    second.hover()
    editor.page.mouse.wheel(0, -300)
    editor.page.wait_for_timeout(200)
    after = second.locator("img").bounding_box()
    assert after is not None
    assert after["width"] > before["width"] * 1.3
    assert editor.value() is None


def test_reruns_in_mid_drag_leave_the_point_under_the_pointer(open_editor: Open) -> None:
    editor = open_editor(storm="1", start="full")
    editor.drag((520, 1080), (700, 900), release=False)
    seen = set()
    for _ in range(8):
        editor.page.wait_for_timeout(150)
        seen.add(editor.page.locator(".rest").inner_text())
        box = editor.handle("hip").bounding_box()
        assert box is not None
        assert near([box["x"] + 22, box["y"] + 22], editor.where(700, 900), 2)
    assert len(seen) > 3, "the page ran again and again meanwhile"
    editor.page.mouse.up()
    editor.until(lambda v: near(v["points"]["hip"], (700, 900), 3))


def test_points_that_python_changes_in_mid_drag_wait_for_the_release_and_the_held_point_wins(open_editor: Open) -> None:
    editor = open_editor(storm="1", rises="1", start="full")
    assert editor.page.locator(".rest").inner_text().startswith("revision 1,")
    editor.drag((520, 1080), (700, 900), release=False)
    editor.page.get_by_text("revision 2,").wait_for()
    editor.page.wait_for_timeout(300)
    assert editor.stage.locator(".handle").count() == 8, "Python's three points wait"
    box = editor.handle("hip").bounding_box()
    assert box is not None
    assert near([box["x"] + 22, box["y"] + 22], editor.where(700, 900), 2)
    editor.page.mouse.up()
    value = editor.until(lambda v: v["revision"] == 2)
    assert set(value["points"]) == {"ear", "shoulder", "hip"}
    assert near(value["points"]["hip"], (700, 900), 3)
    assert value["points"]["ear"][3] == "pose model"


def test_an_edit_by_key_is_told_at_once_when_the_editor_loses_the_focus(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.handle("chin").focus()
    told = editor.page.evaluate(
        """async () => {
          const root = document.activeElement.shadowRoot;
          const count = { sent: 0 };
          const send = WebSocket.prototype.send;
          WebSocket.prototype.send = function (data) { count.sent += 1; return send.call(this, data); };
          const pause = () => new Promise((done) => setTimeout(done, 60));
          const handle = root.activeElement;
          handle.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', bubbles: true, composed: true }));
          await pause();
          const before = count.sent;
          handle.blur();
          await pause();
          return [before, count.sent];
        }"""
    )
    assert told[0] == 0, "keys wait for a pause"
    assert told[1] >= 1, "losing the focus does not wait"
    editor.until(lambda v: v["points"]["chin"][0] == 861)


def test_an_edit_by_key_is_told_at_once_when_the_tab_is_hidden(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.handle("chin").focus()
    editor.page.keyboard.press("ArrowRight")
    editor.page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")
    editor.until(lambda v: v["points"]["chin"][0] == 861)


def test_points_proposed_by_python_arrive_with_a_new_revision_and_can_be_undone(open_editor: Open) -> None:
    editor = open_editor()
    editor.click(800, 560)
    editor.until(lambda v: "mouth_corner" in v["points"])
    editor.button("Propose points").click()
    editor.page.get_by_text("proposed", exact=True).first.wait_for()
    assert editor.stage.locator(".handle").count() == 3
    editor.button("Undo").click()
    value = editor.until(lambda v: "mouth_corner" in v["points"])
    assert value["revision"] == 2
    assert set(value["points"]) == {"mouth_corner"}
