"""Placing and moving landmarks in a real browser: by clicks, drags and keys, with the numbers that come back."""

import re
from collections.abc import Callable

import pytest

from tests.screens.editor_page import EditorPage
from vision.landmarks import LANDMARK_NAMES, LandmarkSet, Point
from vision.measures import measure_all

Open = Callable[..., EditorPage]

ASKED = [name for name in LANDMARK_NAMES if not name.startswith("scale")]
PLACES = {
    "mouth_corner": (800, 560), "upper_lip_edge": (880, 500), "lower_lip_edge": (870, 640), "nose_tip": (900, 430),
    "chin": (860, 700), "ear": (610, 430), "shoulder": (560, 720), "hip": (520, 1080), "areola_above": (930, 470),
    "areola_below": (905, 660), "breast_at_nose": (950, 440), "breast_at_chin": (900, 720),
}  # fmt: skip


def near(value: list[float], place: tuple[float, float], px: float) -> bool:
    return abs(value[0] - place[0]) <= px and abs(value[1] - place[1]) <= px


def test_twelve_clicks_place_twelve_landmarks_in_the_order_asked(open_editor: Open) -> None:
    editor = open_editor()
    for name in ASKED:
        editor.click(*PLACES[name])
    value = editor.until(lambda v: len(v["points"]) == 12)
    assert {name: near(value["points"][name], PLACES[name], 1.2) for name in ASKED} == dict.fromkeys(ASKED, True)
    assert editor.page.get_by_text("All points are placed").is_visible()
    assert {value["points"][name][3] for name in ASKED} == {"student"}


def test_the_picture_is_there_and_comes_by_its_own_address(open_editor: Open) -> None:
    editor = open_editor()
    assert editor.picture.evaluate("picture => picture.naturalWidth") == 1600
    assert editor.picture.get_attribute("src") == "/photos/practice.jpg"


@pytest.mark.parametrize("yaw", [None, "75"])
def test_after_each_of_twelve_drags_the_browser_has_the_number_that_python_has(
    open_editor: Open, yaw: str | None
) -> None:
    editor = open_editor(start="full")
    editor.page.keyboard.press("Escape")
    editor.stage.focus()
    editor.page.keyboard.press("Escape")
    if yaw is not None:
        editor.page.locator(f".headchoice input[value='{yaw}']").check()
        editor.until(lambda v: v["yaw"] == 75)
    at = {name: PLACES[name] for name in list(PLACES)[:8]}
    moves = [
        ("upper_lip_edge", (905, 470)), ("lower_lip_edge", (890, 690)), ("mouth_corner", (790, 575)), ("ear", (640, 400)),
        ("shoulder", (500, 740)), ("hip", (610, 1060)), ("nose_tip", (925, 405)), ("upper_lip_edge", (870, 455)),
        ("lower_lip_edge", (925, 660)), ("shoulder", (585, 700)), ("ear", (600, 465)), ("hip", (470, 1100)),
    ]  # fmt: skip
    for name, end in moves:
        editor.drag(at[name], end, release=False)
        mid_drag = {m: editor.card(m).get_attribute("data-live") for m in ("gape_angle", "alignment_angle")}
        assert editor.card("alignment_angle").locator(".more").inner_text() == "working out ±"
        editor.page.mouse.up()
        value = editor.until(lambda v, n=name, e=end: near(v["points"][n], e, 3))
        at[name] = tuple(value["points"][name][:2])
        python = measure_all(_landmarks(value))
        editor.page.wait_for_function(
            "card => !card.classList.contains('stale')", arg=editor.card("gape_angle").element_handle()
        )
        for measure in ("gape_angle", "alignment_angle", "head_deviation"):
            shown = editor.card(measure).get_attribute("data-live")
            assert float(shown or "nan") == pytest.approx(python[measure].value, abs=1e-6)
            assert shown == mid_drag.get(measure, shown)
            text = editor.card(measure).locator(".value").inner_text()
            assert text.startswith(f"{abs(python[measure].value):.0f}°")
        assert "±" in editor.card("gape_angle").locator(".value").inner_text()


def _landmarks(value: dict) -> LandmarkSet:
    from vision.landmarks import HeadYaw, Visibility

    points = {
        name: Point(x=p[0], y=p[1], visibility=Visibility(p[2]), by=p[3], sigma=p[4])
        for name, p in value["points"].items()
    }
    yaw = None if value["yaw"] is None else HeadYaw(deg=value["yaw"], sigma_deg=8)
    return LandmarkSet(points=points, head_yaw=yaw)


def test_arrows_move_a_point_by_one_photo_pixel_and_shift_by_ten(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.handle("chin").focus()
    editor.page.keyboard.press("ArrowRight")
    editor.page.keyboard.press("ArrowRight")
    editor.page.keyboard.press("ArrowUp")
    editor.until(lambda v: v["points"]["chin"][:2] == [862, 699])
    editor.page.keyboard.press("Shift+ArrowLeft")
    editor.page.keyboard.press("Shift+ArrowDown")
    editor.until(lambda v: v["points"]["chin"][:2] == [852, 709])
    editor.page.keyboard.press("Delete")
    editor.until(lambda v: "chin" not in v["points"])


def test_tab_goes_from_point_to_point_in_the_order_asked(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.stage.focus()
    reached = []
    for _ in range(3):
        editor.page.keyboard.press("Tab")
        reached.append(
            editor.page.evaluate("() => document.activeElement.shadowRoot.activeElement.getAttribute('aria-label')")
        )
    assert [name.partition(",")[0] for name in reached] == ["mouth corner", "upper lip", "lower lip"]
    assert all(re.fullmatch(r"[a-z ]+, placed by you, \d+ pixels? uncertain, [A-Z]+", name) for name in reached), (
        reached
    )


def test_a_point_can_be_placed_with_the_keyboard_alone(open_editor: Open) -> None:
    editor = open_editor()
    editor.button("place ear").focus()
    editor.page.keyboard.press("Enter")
    editor.until(lambda v: near(v["points"]["ear"], (800, 600), 2))
    editor.page.keyboard.press("Shift+ArrowLeft")
    editor.until(lambda v: near(v["points"]["ear"], (790, 600), 2))


def test_undo_and_redo_go_through_placing_dragging_and_removing(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.page.keyboard.press("Escape")
    editor.drag(PLACES["hip"], (600, 1000))
    moved = editor.until(lambda v: near(v["points"]["hip"], (600, 1000), 3))["points"]["hip"]
    editor.button("remove hip").click()
    editor.until(lambda v: "hip" not in v["points"])
    editor.button("Undo").click()
    assert editor.until(lambda v: "hip" in v["points"])["points"]["hip"] == moved
    editor.page.keyboard.press("Control+z")
    editor.until(lambda v: v["points"]["hip"][:2] == [520, 1080])
    assert editor.button("Undo").is_disabled()
    editor.page.keyboard.press("Control+Shift+z")
    editor.until(lambda v: v["points"]["hip"] == moved)
    editor.button("Redo").click()
    editor.until(lambda v: "hip" not in v["points"])


def test_hidden_says_that_a_point_was_guessed(open_editor: Open) -> None:
    editor = open_editor()
    editor.button("It is hidden").click()
    editor.click(*PLACES["mouth_corner"])
    assert editor.until(lambda v: "mouth_corner" in v["points"])["points"]["mouth_corner"][2] == 1
    editor.button("mouth corner is hidden in this photo").click()
    editor.until(lambda v: v["points"]["mouth_corner"][2] == 2)
    editor.button("Leave out").click()
    editor.click(*PLACES["lower_lip_edge"])
    assert set(editor.until(lambda v: len(v["points"]) == 2)["points"]) == {"mouth_corner", "lower_lip_edge"}


def test_a_proposed_point_keeps_its_maker_until_the_student_moves_or_keeps_it(open_editor: Open) -> None:
    editor = open_editor(start="proposed")
    editor.click(*PLACES["mouth_corner"])
    first = editor.until(lambda v: "mouth_corner" in v["points"])["points"]
    assert first["ear"] == [610, 430, 2, "pose model", 12]
    editor.button("keep ear where it is proposed").click()
    assert editor.until(lambda v: v["points"]["ear"][3] == "student")["points"]["hip"][3] == "pose model"
    editor.drag((520, 1080), (560, 1040))
    hip = editor.until(lambda v: v["points"]["hip"][3] == "student")["points"]["hip"]
    assert near(hip[:2], (560, 1040), 3)
    assert hip[4] is None


def test_a_click_near_an_older_point_places_the_next_one_and_leaves_the_older_where_it_was(open_editor: Open) -> None:
    editor = open_editor()
    editor.click(800, 560)
    editor.click(812, 552)
    value = editor.until(lambda v: len(v["points"]) == 2)["points"]
    assert near(value["mouth_corner"], (800, 560), 1.2)
    assert near(value["upper_lip_edge"], (812, 552), 1.2)


def test_the_head_that_the_student_chooses_comes_back_as_yaw(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.page.get_by_role("radio", name="75°, 75 degrees").check()
    editor.until(lambda v: v["yaw"] == 75)
    editor.page.get_by_role("radio", name="not sure").check()
    editor.until(lambda v: v["yaw"] is None)


def test_each_edit_is_told_once_and_a_rerun_is_no_edit(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.button("remove chin").click()
    first = editor.until(lambda v: "chin" not in v["points"])
    editor.button("Run again").click()
    editor.page.wait_for_timeout(500)
    second = editor.value()
    assert (second["edit"], second["saved"]) == (first["edit"], first["saved"])
    editor.button("Undo").click()
    assert editor.until(lambda v: "chin" in v["points"])["saved"] == first["saved"] + 1
