"""JSON from strangers: bounded in size and depth, every number finite, no key twice; and JSON of our own, one way only."""

import json
from math import isfinite

from records.errors import BundleRefused

MAX_DEPTH = 12


def strict_json(data: bytes, name: str) -> object:
    """The value in these bytes.

    Raises
    ------
    BundleRefused
        In one sentence.

    Examples
    --------
    >>> strict_json(b'{"a": [1, 2.5]}', "x.json")
    {'a': [1, 2.5]}
    """
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise BundleRefused(f"The bundle's {name} is not text in UTF-8.") from fault
    if _depth(text) > MAX_DEPTH:
        raise BundleRefused(f"The bundle's {name} nests deeper than the {MAX_DEPTH} levels that it needs.")
    try:
        return json.loads(
            text,
            parse_constant=lambda word: _refuse(name, f"holds {word}, which is no number"),
            parse_float=lambda digits: _finite(digits, name),
            object_pairs_hook=lambda pairs: _no_repeats(pairs, name),
        )
    except (ValueError, RecursionError) as fault:
        raise BundleRefused(f"The bundle's {name} is not valid JSON.") from fault


def plain_json(value: object) -> bytes:
    """Our own JSON for files that people may open: keys in order, indented, one way to write each value."""
    text = json.dumps(value, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False)
    return f"{text}\n".encode()


def _refuse(name: str, what: str) -> float:
    raise BundleRefused(f"The bundle's {name} {what}.")


def _finite(digits: str, name: str) -> float:
    number = float(digits)
    return number if isfinite(number) else _refuse(name, "holds a number that is too large")


def _no_repeats(pairs: list[tuple[str, object]], name: str) -> dict[str, object]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise BundleRefused(f"The bundle's {name} names something twice.")
    return found


def _depth(text: str) -> int:
    """How deep brackets nest, those inside texts left out; counted before anything recurses."""
    depth = deepest = at = 0
    while at < len(text):
        letter = text[at]
        if letter == '"':
            at = _end_of_text(text, at)
        elif letter in "[{":
            depth += 1
            deepest = max(deepest, depth)
            if deepest > MAX_DEPTH:
                break
        elif letter in "]}":
            depth -= 1
        at += 1
    return deepest


def _end_of_text(text: str, at: int) -> int:
    at += 1
    while at < len(text) and text[at] != '"':
        at += 2 if text[at] == "\\" else 1
    return at
