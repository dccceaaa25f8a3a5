"""How long a drag takes to its new number in a real browser: `python tests/bench_editor.py`.

Two spans, each over many drags of the hip on a shipped doll photo: from a pointer's move to the live number on the
card, all in the browser; and from the release to Python's number with its range, which is saved by then. The second is
also given as a ratio to the dearest thing that must happen anyway: a bare click that makes the page run again.
"""

import json
import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.journeys.people import on_page, open_start, place, sample, settle
from tests.served import CHROMIUM, CHROMIUM_FLAGS, serve, stop
from vision.landmarks import LANDMARK_NAMES

DRAGS = 30
SAMPLE = "cradle_side"

_WATCH = """
() => {
  const inside = (root) => {
    for (const node of root.querySelectorAll('*')) {
      if (node.matches('[data-measure=alignment_angle] .value')) return node;
      const found = node.shadowRoot && inside(node.shadowRoot);
      if (found) return found;
    }
    return null;
  };
  const value = inside(document);
  window.spans = { live: [], told: [] };
  let moved = 0, released = 0;
  addEventListener('pointermove', () => { moved = performance.now(); }, true);
  addEventListener('pointerup', () => { released = performance.now(); }, true);
  new MutationObserver(() => {
    const now = performance.now();
    if (moved) { window.spans.live.push(now - moved); moved = 0; }
    if (released && value.textContent.includes('(')) { window.spans.told.push(now - released); released = 0; }
  }).observe(value, { childList: true, characterData: true, subtree: true });
}
"""

_BARE = """
([label, appearing]) => new Promise((done) => {
  const shown = () => document.body.innerText.includes(appearing);
  const before = shown();
  const began = performance.now();
  [...document.querySelectorAll('label')].find((one) => one.innerText.includes(label)).querySelector('input').click();
  const look = () => shown() !== before ? done(performance.now() - began) : requestAnimationFrame(look);
  look();
})
"""


def prepare(page: Page, url: str) -> tuple[float, float]:
    """Open the sample at the points, all of them placed; the hip's place on the page."""
    truth = sample(SAMPLE)
    size = (truth["width"], truth["height"])
    open_start(page, url)
    page.get_by_role("radiogroup", name="Order of work").get_by_text("Measure first").click()
    settle(page)
    card = page.get_by_test_id("stColumn").filter(has=page.get_by_text(truth["title"], exact=True))
    card.get_by_role("button", name="Practise on this photo").click()
    settle(page)
    for name in ("ear", "shoulder", "hip"):
        place(page, LANDMARK_NAMES[name], truth["landmarks"][name]["x"], truth["landmarks"][name]["y"], size)
    page.get_by_role("img", name="practice photo").scroll_into_view_if_needed()
    return on_page(page, truth["landmarks"]["hip"]["x"], truth["landmarks"]["hip"]["y"], size)


def measure(page: Page, url: str) -> dict[str, float]:
    """Both spans in milliseconds, and the ratio."""
    x, y = prepare(page, url)
    page.evaluate(_WATCH)
    for drag in range(DRAGS):
        page.mouse.move(x, y)
        page.mouse.down()
        y += 24 if drag % 2 else -24
        page.mouse.move(x, y, steps=6)
        page.mouse.up()
        page.wait_for_timeout(700)
    spans = page.evaluate("window.spans")
    bare = [page.evaluate(_BARE, ["Something of known length", "Length between the marks"]) for _ in range(10)]
    told, live = sorted(spans["told"]), sorted(spans["live"])
    return {
        "n_live": len(live),
        "live_ms_median": statistics.median(live),
        "live_ms_95th": live[int(0.95 * len(live))],
        "n_told": len(told),
        "told_ms_median": statistics.median(told),
        "told_ms_95th": told[int(0.95 * len(told))],
        "bare_rerun_ms_median": statistics.median(bare),
        "told_over_bare_rerun": statistics.median(told) / statistics.median(bare),
    }


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        url, process = serve("app.py", Path(folder) / "server.log", {"LATCH_AND_LINE_DATA": f"{folder}/data"})
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_FLAGS)
        try:
            found = measure(browser.new_page(viewport={"width": 1360, "height": 1000}), url)
        finally:
            browser.close()
            stop(process)
    print(json.dumps({name: round(value, 2) for name, value in found.items()}, indent=2))


if __name__ == "__main__":
    main()
