"""The editor's page as a person meets it: points by name, places by photo pixel."""

import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Self
from urllib.parse import urlencode

from playwright.sync_api import Locator, Page

WIDTH, HEIGHT = 1600, 1200

# Where a photo pixel is drawn, from the picture element itself and not from the editor's own arithmetic.
_WHERE = """(picture, [x, y, width]) => {
  const style = getComputedStyle(picture);
  const stage = picture.parentElement.getBoundingClientRect();
  const share = parseFloat(style.width) / width;
  const at = new DOMMatrix(style.transform).transformPoint({ x: x * share, y: y * share });
  return [stage.left + at.x, stage.top + at.y];
}"""


@dataclass(frozen=True, kw_only=True)
class EditorPage:
    """One open editor."""

    page: Page

    @classmethod
    def open(cls, page: Page, url: str, query: dict[str, str]) -> Self:
        page.goto(f"{url}/?{urlencode(query)}")
        editor = cls(page=page)
        editor.stage.wait_for()
        page.wait_for_function(
            "() => [...document.querySelectorAll('*')].some((node) => "
            "node.shadowRoot?.querySelector('.picture')?.naturalWidth > 0)"
        )
        page.locator("code").first.wait_for()
        page.wait_for_timeout(150)
        return editor

    @property
    def stage(self) -> Locator:
        return self.page.get_by_label("Photo with its points")

    @property
    def picture(self) -> Locator:
        return self.stage.locator("img").first

    def where(self, x: float, y: float) -> tuple[float, float]:
        """CSS pixels of the window at which a photo pixel is drawn."""
        left, top = self.picture.evaluate(_WHERE, [x, y, WIDTH])
        return left, top

    def click(self, x: float, y: float) -> None:
        self.page.mouse.click(*self.where(x, y))

    def drag(self, start: tuple[float, float], end: tuple[float, float], *, release: bool = True) -> None:
        """By mouse, in photo pixels; the pointer goes in steps, as a hand does."""
        self.page.mouse.move(*self.where(*start))
        self.page.mouse.down()
        self.page.mouse.move(*self.where(*end), steps=6)
        if release:
            self.page.mouse.up()

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name, exact=True)

    def handle(self, name: str) -> Locator:
        """The point of that plain name on the photo."""
        return self.page.get_by_role("button", name=f"{name}, placed")

    def card(self, measure: str) -> Locator:
        return self.page.locator(f".card[data-measure={measure}]")

    def value(self) -> dict[str, Any] | None:
        """What Python last received."""
        read: dict[str, Any] | None = json.loads(self.page.locator("code").first.inner_text())
        return read

    def until(self, met: Callable[[dict[str, Any]], bool], *, within_s: float = 6) -> dict[str, Any]:
        """Python's value once it meets the condition."""
        end = time.monotonic() + within_s
        while time.monotonic() < end:
            value = self.value()
            if value is not None and met(value):
                return value
            self.page.wait_for_timeout(40)
        raise AssertionError(f"Python never received what was waited for, last: {self.value()}")
