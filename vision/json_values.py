"""Single values out of JSON from strangers: the right type, in range, or one sentence that says what came."""

from collections.abc import Mapping
from math import isfinite

from vision.errors import InvalidLandmarks

MAX_TEXT = 60


def refuse_constant(word: str) -> float:
    """For `json.loads(parse_constant=...)`: NaN and Infinity are no JSON."""
    raise InvalidLandmarks(f"{word} is no number in JSON.")


def no_repeats(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """For `json.loads(object_pairs_hook=...)`: a key that is given twice has no agreed meaning."""
    found: dict[str, object] = {}
    for key, value in pairs:
        if key in found:
            raise InvalidLandmarks(f"{_shown(key)} is given twice.")
        found[key] = value
    return found


def mapping_at(value: object, where: str) -> Mapping[str, object]:
    """The value as a mapping with text keys."""
    if not isinstance(value, Mapping) or not all(isinstance(key, str) for key in value):
        raise InvalidLandmarks(f"{where} must be a JSON object, got {_shown(value)}.")
    return value


def only_keys(value: Mapping[str, object], allowed: tuple[str, ...], where: str) -> None:
    """A key that nobody reads is a slip of the pen or a file of another kind."""
    unknown = [key for key in value if key not in allowed]
    if unknown:
        raise InvalidLandmarks(f"{where} has an unknown part {_shown(unknown[0])}; known are {', '.join(allowed)}.")


def number_at(
    value: Mapping[str, object],
    key: str,
    *,
    where: str = "",
    low: float = float("-inf"),
    high: float = float("inf"),
    above: float = float("-inf"),
) -> float | None:
    """The number under `key`, None where it is null or absent; true and false are no numbers.

    >>> number_at({"sigma": 2}, "sigma", above=0)
    2.0
    """
    came = value.get(key)
    if came is None:
        return None
    called = f"{where}: {key}" if where else key
    if isinstance(came, bool) or not isinstance(came, int | float):
        raise InvalidLandmarks(f"{called} must be a number, got {_shown(came)}.")
    try:
        number = float(came)
    except OverflowError:
        number = float("inf")
    if not isfinite(number) or not low <= number <= high or number <= above:
        raise InvalidLandmarks(f"{called} must be {_range(low, high, above)}, got {_shown(number)}.")
    return number


def text_at(value: Mapping[str, object], key: str, default: str, *, where: str = "") -> str:
    """The text under `key`, the default where it is null or absent; at most `MAX_TEXT` printable characters."""
    came = value.get(key)
    if came is None:
        return default
    if not isinstance(came, str) or not came.isprintable() or not 0 < len(came) <= MAX_TEXT:
        called = f"{where}: {key}" if where else key
        raise InvalidLandmarks(f"{called} must be text of 1 to {MAX_TEXT} characters, got {_shown(came)}.")
    return came


def _range(low: float, high: float, above: float) -> str:
    if isfinite(above):
        return f"above {above:g} and at most {high:g}" if isfinite(high) else f"above {above:g}"
    return f"from {low:g} to {high:g}" if isfinite(low) else "a finite number"


def _shown(value: object) -> str:
    """Something from a stranger, short and on one line."""
    text = (
        repr(value)
        if not isinstance(value, Mapping | list)
        else ("an object" if isinstance(value, Mapping) else "a list")
    )
    return text if len(text) <= 40 else text[:37] + "..."
