"""The main job by keys alone, from the start page to the feedback, with the focus in sight and never lost."""

import json
import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.journeys.by_keys import Keys
from tests.journeys.people import Server, open_start, photo_frame, rows, sample, settle, signs
from vision.landmarks import LANDMARK_NAMES

PHOTO = "narrow_side"


def placed(server: Server) -> dict[str, dict[str, float]]:
    found = rows(server.data, "select landmarks from placed_points where round = 1")
    points: dict[str, dict[str, float]] = json.loads(found[0][0])["landmarks"] if found else {}
    return points


def bring(keys: Keys, server: Server, name: str, x: float, y: float) -> None:
    """Move the point in focus to a place of the photo, in tens and then in single pixels."""
    keys.page.wait_for_timeout(500)
    settle(keys.page)
    at = placed(server)[name]
    for way, back, gap in (
        ("ArrowRight", "ArrowLeft", round(x - at["x"])),
        ("ArrowDown", "ArrowUp", round(y - at["y"])),
    ):
        key = way if gap > 0 else back
        keys.press(f"Shift+{key}", abs(gap) // 10)
        keys.press(key, abs(gap) % 10)
    keys.page.wait_for_timeout(500)
    settle(keys.page)
    at = placed(server)[name]
    assert abs(at["x"] - x) <= 1, (name, at, x)
    assert abs(at["y"] - y) <= 1, (name, at, y)


def test_the_main_job_is_done_by_keys_alone(page: Page, run_program: Callable[[], Server]) -> None:
    truth = sample(PHOTO)
    server = run_program()
    page.set_default_timeout(60_000)
    open_start(page, server.url)
    keys = Keys(page=page)
    expect(page.get_by_role("link", name="Skip to the content")).to_be_attached()

    assert keys.tab()["name"] == "Skip to the content"
    assert keys.enter()["tag"] == "H1"
    keys.tab_to(rf"Practise on this photo: {re.escape(truth['title'])}$", most=80)
    assert keys.enter()["name"] == truth["title"]
    expect(page).to_have_title(f"{truth['title']} – Latch and Line")

    keys.tab_to("Before the latch")
    keys.choose("At the breast")
    keys.tab_to("Side")
    keys.choose("Side")
    expect(signs(page).first).to_be_visible()
    n_signs = signs(page).count()
    assert n_signs == 10
    for at in range(n_signs):
        keys.tab_until(lambda stop: stop["tag"] == "INPUT" and stop["name"] == "Seen", f"answer to sign {at + 1}")
        keys.choose("Seen" if at % 2 == 0 else "Not seen")
    expect(page.get_by_text(f"{n_signs} of {n_signs} signs answered")).to_be_visible()

    # From the sign that was answered last there is a way to the photo, which takes the focus, and back.
    keys.tab_to("Go to the photo")
    assert "stage" in keys.enter()["classes"]

    # Where the last sign but one is seen: the photo takes the focus, Enter pins it in the middle, arrows move it.
    keys.tab_until(lambda stop: stop["name"] == "Mark where" and _card(page).startswith("9. "), "button of sign 9")
    assert "stage" in keys.enter()["classes"]
    page.keyboard.press("Enter")
    assert keys.here()["name"].startswith("9. ")
    keys.press("Shift+ArrowRight", 4)
    keys.tab_until(lambda stop: not stop["inEditor"], "way out of the editor", most=20)
    settle(page)
    page.wait_for_timeout(500)
    sheets = rows(server.data, "select answers from sheet where round = 1")
    spots = [given["spot"] for given in json.loads(sheets[0][0])["answers"].values() if given.get("spot")]
    assert len(spots) == 1
    middle, width = 0.5, truth["width"]
    assert abs(_x(spots[0]) - (middle + 40 / width)) < 2 / width

    keys.tab_to("Next: Points and measures")
    assert keys.enter()["name"] == truth["title"]
    for name in ("mouth_corner", "upper_lip_edge", "lower_lip_edge"):
        keys.tab_to(f"place {LANDMARK_NAMES[name]}")
        assert keys.enter()["name"].startswith(f"{LANDMARK_NAMES[name]}, placed by you")
        bring(keys, server, name, truth["landmarks"][name]["x"], truth["landmarks"][name]["y"])
    assert photo_frame(page)["width"] > 0
    expect(page.locator("[data-measure=gape_angle] .value")).to_have_text(re.compile(r"^\d+°"))

    # A point on the photo itself, and its removal; the focus stays with the photo.
    keys.tab_until(lambda stop: "stage" in stop["classes"], "photo", back=True)
    assert keys.enter()["name"].startswith("nose tip, placed by you")
    assert "nose_tip" in placed(server)
    page.keyboard.press("Delete")
    settle(page)
    page.wait_for_timeout(500)
    assert "stage" in keys.here()["classes"]
    assert "nose_tip" not in placed(server)
    page.keyboard.press("Control+z")
    page.wait_for_timeout(500)
    settle(page)
    assert "nose_tip" in placed(server)
    page.keyboard.press("Escape")

    keys.tab_to("not sure|front, 0 degrees|side, 90 degrees")
    keys.choose("side, 90 degrees")
    keys.tab_until(lambda stop: not stop["inEditor"], "way out of the editor", most=80)

    keys.tab_to("Next: Score again")
    assert keys.enter()["name"] == truth["title"]
    keys.tab_until(lambda stop: stop["tag"] == "INPUT" and stop["name"] == "Seen", "second answer to a sign")
    keys.choose("Not seen")
    keys.tab_to("Next: Hand in")
    assert keys.enter()["name"] == truth["title"]
    expect(page.get_by_role("table", name="Changes of mind")).to_contain_text("Not seen")
    keys.tab_to("Hand in$")
    assert keys.enter()["name"] == f"Feedback: {truth['title']}"
    keys.tab_to("Marks of the signs")
    keys.choose("Points of the measures")
    expect(page.get_by_text("Your points and the reference")).to_be_visible()
    assert rows(server.data, "select count(*) from attempt where handed_in_at is not null") == [(1,)]
    assert not [stop for stop in keys.stops if stop["tag"] == "BODY"], "the focus fell to the page"


def _card(page: Page) -> str:
    """The words of the card in which the focus is."""
    words: str = page.evaluate(
        "() => document.activeElement.closest('[data-testid=stVerticalBlock]')?.textContent ?? ''"
    )
    return words[:4]


def _x(spot: object) -> float:
    """A stored spot, whether as a pair or with names."""
    return float(spot["x"] if isinstance(spot, dict) else spot[0])  # type: ignore[index]
