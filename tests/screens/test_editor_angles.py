"""The browser's angles are Python's: the shared cases, and random faces and bodies, computed in a real browser."""

import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from screens.editor import assets
from screens.editor.payload import landmarks_payload
from vision.landmark_files import landmarks_from_json
from vision.landmarks import BodyView, HeadYaw, LandmarkSet, Point, Visibility
from vision.measures import measure_all

CASES = json.loads((Path(__file__).parent.parent / "data" / "angle_cases.json").read_text(encoding="utf-8"))
IN_BROWSER = ("gape_angle", "alignment_angle", "head_deviation")
MOUTH = {"mouth_corner": (800, 560), "upper_lip_edge": (880, 500), "lower_lip_edge": (870, 640)}
HEAD = {"nose_tip": (900, 430), "ear": (610, 430), "shoulder": (560, 720), "hip": (520, 1080)}


@pytest.fixture(scope="module")
def editor_module(browser: Browser) -> Iterator[Page]:
    """An empty page with the editor's module loaded, and nothing of Streamlit."""
    context = browser.new_context()
    page = context.new_page()
    page.evaluate(
        """async (source) => {
          window.editor = await import(URL.createObjectURL(new Blob([source], { type: "text/javascript" })));
        }""",
        assets.js(),
    )
    yield page
    context.close()


def in_browser(page: Page, landmarks: LandmarkSet) -> dict[str, Any]:
    """Through the same payload as the true editor; width and height 1, so that shares are pixels."""
    gape = landmarks.gape
    told = {"gape": gape and {"deg": gape.deg, "by": gape.by}} | landmarks_payload(landmarks, 1, 1)
    answer: dict[str, Any] = page.evaluate("(told) => window.editor.liveMeasures(told)", told)
    return answer


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_a_shared_case_gives_the_expected_angle_in_the_browser(editor_module: Page, case: dict[str, Any]) -> None:
    answer = in_browser(editor_module, landmarks_from_json(case["landmarks"]))
    for name in IN_BROWSER:
        expected = case["expected"][name]
        if expected is None:
            assert answer[name]["value"] is None
            assert answer[name]["reason"]
        else:
            assert answer[name]["value"] == pytest.approx(expected, abs=1e-3)


def _random_set(dice: random.Random) -> LandmarkSet:
    spread = dice.choice([10, 60, 300])
    points = {}
    for name, (x, y) in {**MOUTH, **HEAD}.items():
        if dice.random() < 0.06:
            continue
        points[name] = Point(
            x=x + dice.gauss(0, spread),
            y=y + dice.gauss(0, spread),
            sigma=dice.choice([None, None, 2.0, 9.0]),
            visibility=dice.choice([Visibility.SEEN, Visibility.SEEN, Visibility.HIDDEN]),
        )
    yaw = dice.choice(
        [None, HeadYaw(deg=dice.uniform(40, 135), sigma_deg=8), HeadYaw(deg=dice.uniform(60, 115), sigma_deg=4)]
    )
    return LandmarkSet(
        points=points,
        head_yaw=yaw,
        camera_elevation_deg=dice.choice([None, None, dice.uniform(-30, 30)]),
        body_view=dice.choice(list(BodyView)),
    )


def test_random_faces_and_bodies_give_pythons_values_and_pythons_refusals_in_the_browser(editor_module: Page) -> None:
    dice = random.Random(20261124)
    values = refusals = 0
    for _ in range(300):
        landmarks = _random_set(dice)
        answer, python = in_browser(editor_module, landmarks), measure_all(landmarks)
        for name in IN_BROWSER:
            expected = getattr(python[name], "value", None)
            if expected is None:
                refusals += 1
                assert answer[name]["value"] is None, (name, landmarks, python[name])
            else:
                values += 1
                assert answer[name]["value"] == pytest.approx(expected, abs=1e-6), (name, landmarks)
    assert values > 150
    assert refusals > 150


def test_a_view_maps_every_photo_pixel_to_the_stage_and_back(editor_module: Page) -> None:
    worst = editor_module.evaluate(
        """() => {
          const { newView, fitView, zoomAt, toStage, toPhoto } = window.editor;
          const photo = { width: 4000, height: 3000 };
          const stage = { width: 731, height: 547 };
          let worst = 0;
          for (const turn of [0, 33, 90, -120, 180]) {
            const view = { ...newView(), turn };
            fitView(view, photo, stage);
            zoomAt(view, photo, stage, 5.3, { x: 200, y: 400 });
            for (const point of [{ x: 0, y: 0 }, { x: 4000, y: 1234.5 }, { x: 777.25, y: 3000 }]) {
              const back = toPhoto(view, photo, stage, toStage(view, photo, stage, point));
              worst = Math.max(worst, Math.hypot(back.x - point.x, back.y - point.y));
            }
          }
          return worst;
        }"""
    )
    assert worst < 1e-8
