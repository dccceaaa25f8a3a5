"""Parts of what an editor in the browser sends, read with suspicion: anyone can send anything."""

from collections.abc import Mapping
from typing import Any

from screens.language import _

#: Counters above this lose their last digit in a browser.
MAX_COUNTER = 2**53
#: Coordinates are kept to a hundredth of a pixel, here and in the browser, so that both compute with the same number.
DECIMALS = 2


class RefusedError(ValueError):
    """The browser sent something that no editor of ours sends; says what, to stand in a sentence."""


def left_out(refused: RefusedError) -> str:
    """The sentence on an edit that was refused."""
    return _("the browser sent {what}, so this edit was left out").format(what=refused)


def mapping(value: object, what: str) -> Mapping[str, Any]:
    """The value as a mapping of names. Raises RefusedError, with `what` was sent instead."""
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise RefusedError(what)
    return value


def number(value: object, low: float, high: float, what: str) -> float:
    """The value as a number from `low` to `high`. Raises RefusedError."""
    # Whole numbers in JSON have no bound, and one of 400 digits fits no float; NaN lies in no range either.
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise RefusedError(_("{what} outside {low:g} to {high:g}").format(what=what, low=low, high=high))
    return float(value)


def counter(value: object) -> int:
    """The value as a whole number from 0. Raises RefusedError."""
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MAX_COUNTER:
        raise RefusedError(_("no counter"))
    return value
