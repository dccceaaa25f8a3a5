"""A person who has keys only: Tab, Shift+Tab, Enter, Space, arrows and Delete. Every stop must show a ring."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Page

from tests.disabilities.rendered import focus_of
from tests.journeys.people import settle

Stop = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Keys:
    """Presses keys on a page and remembers where the focus went."""

    page: Page
    stops: list[Stop] = field(default_factory=list)

    def here(self) -> Stop:
        """What has the focus now."""
        return focus_of(self.page)

    def press(self, key: str, times: int = 1) -> None:
        for _ in range(times):
            self.page.keyboard.press(key)

    def tab(self, *, back: bool = False) -> Stop:
        """One stop further; it must show where it is."""
        self.page.keyboard.press("Shift+Tab" if back else "Tab")
        stop = self.here()
        assert stop["tag"] == "BODY" or stop["ring"], f"no ring on {stop}"
        self.stops.append(stop)
        return stop

    def tab_to(self, name: str, *, back: bool = False, most: int = 120) -> Stop:
        """Tab until something with that name (a pattern that fits from its beginning) has the focus."""
        return self.tab_until(lambda stop: re.match(name, stop["name"]) is not None, name, back=back, most=most)

    def tab_until(self, met: Callable[[Stop], bool], what: str, *, back: bool = False, most: int = 120) -> Stop:
        for _ in range(most):
            stop = self.tab(back=back)
            if met(stop):
                return stop
        raise AssertionError(f"{most} times Tab led to no {what}, lately to {[s['name'] for s in self.stops[-8:]]}")

    def enter(self) -> Stop:
        """Press what has the focus and wait; what has the focus afterwards."""
        self.page.keyboard.press("Enter")
        self.rest()
        return self.here()

    def rest(self) -> None:
        """Wait until the page is still and something has the focus: one that fell to the page never rises from there."""
        for _ in range(2):
            settle(self.page)
            self.page.wait_for_timeout(400)
        self.page.wait_for_function("() => document.activeElement !== document.body")

    def choose(self, option: str) -> Stop:
        """Within a group of radio buttons: the option, by arrows, from wherever the group was entered."""
        for _ in range(6):
            stop = self.here()
            if stop["name"].startswith(option):
                self.page.keyboard.press("Space")
                settle(self.page)
                after = self.here()
                assert after["name"].startswith(option), f"the focus went from {option} to {after}"
                return after
            self.page.keyboard.press("ArrowDown")
            settle(self.page)
        raise AssertionError(f"no {option} by arrows, lately {self.here()}")
