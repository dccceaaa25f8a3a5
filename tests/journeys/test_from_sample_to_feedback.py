"""The main job: choose a sample, score, place points, score again, hand in, read the feedback, find it after a restart."""

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from tests.journeys.people import (
    SAMPLES,
    Server,
    answer_all,
    begin,
    on_page,
    open_start,
    photo_frame,
    pictures_shown,
    place,
    press,
    rows,
    sample,
    say_when_and_where,
    settle,
)
from tests.served import PROJECT
from vision.images import read_photo
from vision.landmarks import LANDMARK_NAMES

WHOLE_DOLL = "cradle_side"


def sample_size(name: str) -> tuple[int, int]:
    photo = read_photo((SAMPLES / f"{name}.jpg").read_bytes())
    return photo.width, photo.height


def saved_points(server: Server) -> dict[str, Any]:
    (found,) = rows(server.data, "select landmarks from placed_points where round = 1")
    points: dict[str, Any] = json.loads(found[0])
    return points


def measured_on_the_command_line(landmarks: dict[str, Any], tmp_path: Path) -> dict[str, Any]:
    given = tmp_path / "points.json"
    given.write_text(json.dumps(landmarks))
    photo = SAMPLES / f"{WHOLE_DOLL}.jpg"
    command = [sys.executable, "-m", "vision", "measure", str(photo), "--landmarks", str(given), "--json"]
    done = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, check=True)
    measures: dict[str, Any] = json.loads(done.stdout)["measures"]
    return measures


def number_on_page(page: Page, measure: str) -> int:
    text = page.locator(f"[data-measure={measure}] .value").inner_text()
    found = re.match(r"(\d+)°", text)
    assert found, text
    return int(found.group(1))


def number_beside_a_sign(page: Page, opening: str) -> int:
    text = page.get_by_text(re.compile(opening)).first.inner_text()
    found = re.search(r"(\d+)°", text)
    assert found, text
    return int(found.group(1))


def test_from_a_sample_photo_to_feedback_and_back_after_a_restart(
    page: Page, run_program: Callable[[], Server], tmp_path: Path
) -> None:
    truth = sample(WHOLE_DOLL)
    size = sample_size(WHOLE_DOLL)
    server = run_program()
    open_start(page, server.url)
    assert pictures_shown(page) >= 2
    begin(page, truth["title"])

    say_when_and_where(page, "At the breast", "Side")
    n_signs = answer_all(page, ["Seen", "Not seen", "Can't tell from this photo"])
    assert n_signs == 10
    press(page, "Next: Points and measures")

    for name, point in truth["landmarks"].items():
        place(page, LANDMARK_NAMES[name], point["x"], point["y"], size)
    page.get_by_role("radio", name="side, 90 degrees").check(force=True)
    settle(page)
    # A drag by mouse, then the keys: one pixel of the photo, and ten with shift.
    hip = truth["landmarks"]["hip"]
    start, end = on_page(page, hip["x"], hip["y"], size), on_page(page, hip["x"] + 40, hip["y"] - 30, size)
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=8)
    page.mouse.up()
    settle(page)
    dragged = saved_points(server)["landmarks"]["hip"]
    pixel = size[0] / photo_frame(page)["width"]
    assert abs(dragged["x"] - (hip["x"] + 40)) <= 2 * pixel
    assert abs(dragged["y"] - (hip["y"] - 30)) <= 2 * pixel
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowDown")
    page.wait_for_timeout(600)
    settle(page)
    moved = saved_points(server)["landmarks"]["hip"]
    assert abs(moved["x"] - (dragged["x"] - 1)) < 0.02
    assert abs(moved["y"] - (dragged["y"] + 10)) < 0.02

    shown_gape, shown_line = number_on_page(page, "gape_angle"), number_on_page(page, "alignment_angle")
    outside = measured_on_the_command_line(saved_points(server), tmp_path)
    assert shown_gape == round(outside["gape_angle"]["value"])
    assert shown_line == round(outside["alignment_angle"]["value"])

    press(page, "Next: Score again")
    settle(page)
    assert number_beside_a_sign(page, "^Mouth opens") == shown_gape
    assert number_beside_a_sign(page, "^Ear, shoulder and hip make") == shown_line
    page.get_by_role("radiogroup", name=re.compile(r"^1\. ")).get_by_text("Not seen", exact=True).click()
    settle(page)
    press(page, "Next: Hand in")
    expect(page.get_by_role("table", name="Changes of mind")).to_contain_text("Not seen")
    press(page, "Hand in")

    expect(page.get_by_role("heading", name=f"Feedback: {truth['title']}")).to_be_visible()
    settle(page)
    assert pictures_shown(page) >= 1
    (stored,) = rows(server.data, "select measures from measurement")
    assert json.loads(stored[0]) == outside
    assert rows(server.data, "select count(*) from attempt where handed_in_at is not null") == [(1,)]
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save the photo with your points and measures").click()
    overlay = read_photo(Path(saved.value.path()).read_bytes())
    assert max(overlay.width, overlay.height) >= 1000

    page.goto("about:blank")
    again = run_program()
    page.goto(f"{again.url}/progress")
    table = page.get_by_role("table", name="All that you handed in")
    expect(table).to_contain_text(truth["title"])
    page.goto(f"{again.url}/feedback")
    expect(page.get_by_role("heading", name=f"Feedback: {truth['title']}")).to_be_visible()
    settle(page)
    assert pictures_shown(page) >= 1


def test_half_done_work_is_found_again_after_the_program_was_killed(
    page: Page, run_program: Callable[[], Server]
) -> None:
    truth = sample(WHOLE_DOLL)
    server = run_program()
    open_start(page, server.url)
    begin(page, truth["title"])
    say_when_and_where(page, "At the breast", "Side")
    page.get_by_role("radiogroup", name=re.compile(r"^2\. ")).get_by_text("Not seen", exact=True).click()
    settle(page)
    page.goto("about:blank")
    server.process.kill()
    server.process.wait(timeout=20)

    again = run_program()
    open_start(page, again.url)
    page.get_by_role("button", name="Go on where you stopped").click()
    settle(page)
    second = page.get_by_role("radiogroup", name=re.compile(r"^2\. "))
    expect(second.get_by_role("radio", name="Not seen")).to_be_checked()
    expect(page.get_by_role("radiogroup", name="From where?").get_by_role("radio").first).to_be_checked()


def test_a_second_tab_never_overwrites_what_the_first_one_saved(page: Page, run_program: Callable[[], Server]) -> None:
    truth = sample(WHOLE_DOLL)
    server = run_program()
    open_start(page, server.url)
    begin(page, truth["title"])
    say_when_and_where(page, "At the breast", "Side")
    other = page.context.new_page()
    other.goto(page.url)
    expect(other.get_by_role("heading", name=truth["title"])).to_be_visible()
    settle(other)

    for tab, answer in ((page, "Seen"), (other, "Not seen")):
        tab.get_by_role("radiogroup", name=re.compile(r"^1\. ")).get_by_text(answer, exact=True).click()
        settle(tab)
    (sheet,) = rows(server.data, "select answers from sheet where round = 1")
    assert json.loads(sheet[0])["answers"]["body_line"]["answer"] == "seen"
    expect(other.get_by_text("was not saved")).to_be_visible()
    press(other, "Show what is on record")
    first = other.get_by_role("radiogroup", name=re.compile(r"^1\. "))
    # The answers are drawn anew; for a moment the former ones stand beside them.
    expect(first).to_have_count(1)
    expect(first.get_by_role("radio", name="Seen", exact=True)).to_be_checked()
    other.close()
