"""What a screen reader meets in the landmark editor: names with a state, pictures with words, and few announcements."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.screens.editor_page import EditorPage
from tests.served import PROJECT
from vision import profile_net
from vision.detectors import face_mesh, pose

Open = Callable[..., EditorPage]

# Every change of the words of a place that speaks is one announcement.
_LISTEN = """() => {
  const editor = [...document.querySelectorAll('*')].find((node) => node.shadowRoot?.querySelector('.live')).shadowRoot;
  window.heard = [];
  for (const voice of editor.querySelectorAll('[aria-live], [role=status], output')) {
    let last = voice.textContent;
    new MutationObserver(() => {
      if (voice.textContent !== last) window.heard.push(last = voice.textContent);
    }).observe(voice, { childList: true, characterData: true, subtree: true });
  }
}"""

_MOVING = """() => {
  const nodes = [...document.querySelectorAll('*')].flatMap((node) => [...(node.shadowRoot?.querySelectorAll('*') ?? [])]);
  const moves = (style) => style.animationName !== 'none' || parseFloat(style.transitionDuration) > 0.01;
  return nodes.filter((node) => moves(getComputedStyle(node))).map((node) => String(node.className.baseVal ?? node.className));
}"""


def heard(editor: EditorPage) -> list[str]:
    found: list[str] = editor.page.evaluate("() => window.heard")
    return [words.replace("\u00a0", "") for words in found]


def test_twenty_arrows_in_a_row_are_one_announcement_with_the_angle_at_the_end(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.handle("upper lip").focus()
    editor.page.evaluate(_LISTEN)
    for _ in range(20):
        editor.page.keyboard.press("ArrowUp")
        editor.page.wait_for_timeout(30)
    editor.page.wait_for_timeout(1600)
    said = heard(editor)
    assert len(said) == 1, said
    assert re.fullmatch(r"upper lip moved\. Mouth gape \d+ degrees\.", said[0])


def test_a_drag_of_twenty_steps_is_one_announcement_at_its_release(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.page.keyboard.press("Escape")
    editor.page.evaluate(_LISTEN)
    editor.page.mouse.move(*editor.where(520, 1080))
    editor.page.mouse.down()
    editor.page.mouse.move(*editor.where(640, 1000), steps=20)
    editor.page.wait_for_timeout(1200)
    assert heard(editor) == []
    editor.page.mouse.up()
    editor.page.wait_for_timeout(1600)
    said = heard(editor)
    assert len(said) == 1, said
    assert re.fullmatch(r"hip moved\. Body line \d+ degrees\.", said[0])


def test_the_same_words_are_said_again_when_the_same_thing_happens_again(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.handle("chin").focus()
    editor.page.evaluate(_LISTEN)
    for _ in range(2):
        editor.page.keyboard.press("ArrowUp")
        editor.page.wait_for_timeout(1400)
    assert heard(editor) == ["chin moved.", "chin moved."]


def test_in_the_blind_round_no_number_is_heard_or_named(open_editor: Open) -> None:
    editor = open_editor(blind="yes")
    editor.click(800, 560)
    editor.click(880, 500)
    editor.click(870, 640)
    editor.until(lambda v: len(v["points"]) == 3)
    editor.handle("lower lip").focus()
    editor.page.evaluate(_LISTEN)
    editor.page.keyboard.press("ArrowUp")
    editor.page.wait_for_timeout(1400)
    assert heard(editor) == ["lower lip moved."]
    names = editor.stage.locator(".handle").evaluate_all("all => all.map((one) => one.getAttribute('aria-label'))")
    assert names == ["mouth corner, placed by you, MC", "upper lip, placed by you, UL", "lower lip, placed by you, LL"]


def test_a_point_is_called_with_who_placed_it_whether_it_is_hidden_and_how_unsure_it_is(open_editor: Open) -> None:
    editor = open_editor(start="proposed")
    expect(
        editor.page.get_by_role("button", name="ear, proposed by pose model, 12 pixels uncertain, E?")
    ).to_be_visible()
    editor.button("keep ear where it is proposed").click()
    editor.button("ear is hidden in this photo").click()
    called = re.compile(r"^ear, placed by you, hidden, \d+ pixels uncertain, E$")
    expect(editor.page.get_by_role("button", name=called)).to_be_visible()


def test_every_finder_of_points_has_a_name_that_a_student_understands() -> None:
    text = (PROJECT / "screens" / "editor" / "js" / "landmarks.js").read_text(encoding="utf-8")
    names = dict(re.findall(r"  (\w+): N_\(\"(the [a-z -]+ (?:network|model))\"\)", text))
    assert set(names) == {profile_net.BY, face_mesh.BY, pose.BY}


def test_every_control_of_the_editor_has_a_name_and_every_picture_words(open_editor: Open) -> None:
    editor = open_editor(start="full")
    editor.button("Brightness, contrast and fine turn").click()
    tree = editor.page.locator("body").aria_snapshot()
    control = re.compile(r"\s*- (button|checkbox|combobox|img|link|radio|slider|textbox)(:| \[|$)")
    nameless = [line for line in tree.splitlines() if control.match(line)]
    assert nameless == []
    for part in ("region \"What to mark now\"", "region \"Photo\"", "region \"Points\"", "toolbar \"Picture tools\"",
                 "group \"Which way does the head face?\"", "slider \"Brightness\""):  # fmt: skip
        assert part in tree, part


def test_what_can_only_be_looked_at_is_a_picture_with_a_name_and_no_stop_for_tab(open_editor: Open) -> None:
    editor = open_editor(mode="look", start="full")
    marks = editor.stage.locator(".handle")
    roles = marks.evaluate_all(
        "all => all.map((one) => [one.getAttribute('role'), one.tabIndex, one.getAttribute('aria-label')])"
    )
    assert len(roles) == 18
    assert {(role, stop) for role, stop, _name in roles} == {("img", -1)}
    names = [name for _role, _stop, name in roles]
    assert "mouth corner, reference" in names
    assert "4. Nose free, reference" in names


@pytest.fixture
def forced(browser: Browser, editor_url: str) -> Iterator[Page]:
    """The editor as someone sees it who has set colours of their own."""
    context = browser.new_context(
        forced_colors="active", reduced_motion="reduce", viewport={"width": 1280, "height": 900}
    )
    tab = context.new_page()
    tab.goto(f"{editor_url}/?start=full")
    tab.get_by_label("Photo with its points").wait_for()
    yield tab
    context.close()


def test_in_forced_colours_focus_choice_and_pressed_buttons_have_an_outline_or_a_ground_of_their_own(
    forced: Page,
) -> None:
    forced.get_by_role("button", name="chin, placed").focus()
    forced.keyboard.press("ArrowUp")
    handle = forced.get_by_role("button", name="chin, placed")
    assert handle.evaluate("e => getComputedStyle(e).outlineStyle") == "solid"
    assert float(handle.evaluate("e => parseFloat(getComputedStyle(e).outlineWidth)")) >= 3
    row = forced.locator("li.row.selected")
    assert row.evaluate("e => getComputedStyle(e).borderLeftWidth") == "4px"
    pressed = forced.get_by_role("button", name="chin is hidden in this photo", exact=True)
    before = pressed.evaluate("e => getComputedStyle(e).backgroundColor")
    pressed.click()
    expect(pressed).to_have_attribute("aria-pressed", "true")
    assert pressed.evaluate("e => getComputedStyle(e).backgroundColor") != before
    head = forced.get_by_role("radio", name="75°, 75 degrees")
    head.check(force=True)
    assert head.evaluate("e => getComputedStyle(e.closest('label')).outlineStyle") == "solid"


def test_nothing_in_the_editor_moves_by_itself_for_whoever_asked_for_that(forced: Page) -> None:
    moving = forced.evaluate(_MOVING)
    assert moving == []
