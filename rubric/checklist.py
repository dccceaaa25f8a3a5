"""Reading a checklist file: every fault is found and told at once.

The shipped checklist is `checklist.toml` beside this file; a school may edit a copy of it.
"""

import re
import tomllib
from collections import Counter
from enum import StrEnum
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TypeVar

from rubric.answers import Phase, Settles, View
from rubric.errors import InvalidChecklist
from rubric.evidence import PLAIN_NAMES
from rubric.items import Band, Checklist, Item

__all__ = ["Band", "Checklist", "Item", "checklist_from_toml", "load_checklist", "shipped_checklist"]

SHIPPED_PATH = Path(__file__).with_name("checklist.toml")

Table = dict[str, object]
_Member = TypeVar("_Member", bound=StrEnum)

_TOP_KEYS = frozenset({"version", "sources", "item", "bands"})
_ITEM_KEYS = frozenset(
    {"id", "text", "group", "phases", "views", "visible", "evidence", "basis"}
    | {"guidance", "cant_tell_when", "explain", "caution", "settles"}
)
_ID = re.compile(r"[a-z][a-z0-9_]{0,39}")
#: No measure has a band that begins further out than this, in its own unit.
_FURTHEST_EDGE = 1e6


def load_checklist(path: Path | str) -> Checklist:
    """Read a checklist file.

    Parameters
    ----------
    path : path of a TOML file in UTF-8, laid out as the shipped `checklist.toml`

    Raises
    ------
    InvalidChecklist
        With every fault of the file, or with the one reason why it cannot be read at all.
    """
    try:
        text = Path(path).read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise InvalidChecklist([f"cannot read {path}: {error.strerror or error}"]) from error
    except UnicodeDecodeError as error:
        raise InvalidChecklist([f"the file is not UTF-8 text, first at byte {error.start}"]) from error
    return checklist_from_toml(text)


def checklist_from_toml(text: str) -> Checklist:
    """Read a checklist from the text of a TOML file; raises InvalidChecklist with every fault."""
    try:
        table: Table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InvalidChecklist([f"not TOML: {error}"]) from error
    except (ValueError, RecursionError) as error:  # thousands of digits, or of brackets in brackets
        raise InvalidChecklist(["a number in the file is too long, or its brackets nest too deep"]) from error
    faults = [f"unknown entry {key!r}" for key in table if key not in _TOP_KEYS]
    version = _text(table, "version", "the checklist", faults)
    sources = _sources(table.get("sources"), faults)
    items = _items(table.get("item"), sources, faults)
    bands, notes = _all_bands(table.get("bands", {}), faults)
    if faults:
        raise InvalidChecklist(faults)
    return Checklist(version=version, items=items, bands=bands, band_notes=notes)


@cache
def shipped_checklist() -> Checklist:
    """The checklist that comes with the program, read once."""
    return load_checklist(SHIPPED_PATH)


def _text(table: Table, key: str, where: str, faults: list[str], *, needed: bool = True) -> str:
    value = table.get(key, "")
    if not isinstance(value, str):
        faults.append(f"{where}: {key} must be text, got {_shown(value)}")
        return ""
    if needed and not value.strip():
        faults.append(f"{where}: no {key}")
    return " ".join(value.split())


def _texts(table: Table, key: str, where: str, faults: list[str]) -> list[str]:
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(entry, str) for entry in value):
        faults.append(f"{where}: {key} must be a list of texts, got {_shown(value)}")
        return []
    faults.extend(f"{where}: {key} names {entry} twice" for entry, times in Counter(value).items() if times > 1)
    return list(dict.fromkeys(value))


def _members(table: Table, key: str, kind: type[_Member], where: str, faults: list[str]) -> frozenset[_Member]:
    known = {member.value: member for member in kind}
    names = _texts(table, key, where, faults)
    _known_only(names, known, f"{where}: {key}", faults)
    return frozenset(known[name] for name in names if name in known)


def _known_only(names: list[str], known: "dict[str, _Member] | dict[str, str]", where: str, faults: list[str]) -> None:
    unknown = [name for name in names if name not in known]
    if unknown:
        faults.append(f"{where}: unknown {', '.join(unknown)}; known are {', '.join(known)}")


def _sources(value: object, faults: list[str]) -> dict[str, str]:
    if not isinstance(value, dict) or not value:
        faults.append("no [sources]: each basis letter needs a text that says where it is from")
        return {}
    return {letter: _text(value, letter, "sources", faults) for letter in value}


def _items(value: object, sources: dict[str, str], faults: list[str]) -> tuple[Item, ...]:
    if not isinstance(value, list) or not value or not all(isinstance(entry, dict) for entry in value):
        faults.append("no items: each needs its own [[item]]")
        return ()
    items = tuple(_item(entry, f"item {place}", sources, faults) for place, entry in enumerate(value, start=1))
    counts = Counter(item.id for item in items if item.id)
    faults.extend(f"item id {name} is used {times} times" for name, times in counts.items() if times > 1)
    return items


def _item(table: Table, place: str, sources: dict[str, str], faults: list[str]) -> Item:
    name = _text(table, "id", place, faults)
    if name and not _ID.fullmatch(name):
        faults.append(f"{place}: id must be lower-case letters, digits and _, at most 40, got {_shown(name)}")
    where = f"{place} ({name})" if name else place
    faults.extend(f"{where}: unknown entry {key!r}" for key in table if key not in _ITEM_KEYS)
    visible = table.get("visible", True)
    if not isinstance(visible, bool):
        faults.append(f"{where}: visible must be true or false, got {_shown(visible)}")
        visible = True
    phases = _members(table, "phases", Phase, where, faults)
    views = _members(table, "views", View, where, faults)
    if visible != bool(phases and views) or bool(phases) != bool(views):
        faults.append(f"{where}: a visible item needs phases and views, one that no photo shows has neither")
    basis = _texts(table, "basis", where, faults)
    if not table.get("basis"):
        faults.append(f"{where}: no basis")
    _known_only(basis, sources, f"{where}: basis", faults)
    return Item(
        id=name,
        text=_text(table, "text", where, faults),
        group=_text(table, "group", where, faults),
        phases=phases,
        views=views,
        visible=visible,
        evidence=_evidence(table, where, faults),
        basis="/".join(basis),
        source="; ".join(sources[letter] for letter in basis if letter in sources),
        guidance=_text(table, "guidance", where, faults),
        cant_tell_when=_text(table, "cant_tell_when", where, faults),
        explain=_text(table, "explain", where, faults, needed=False),
        caution=_text(table, "caution", where, faults, needed=False),
        settles=_settles(table, where, faults),
    )


def _evidence(table: Table, where: str, faults: list[str]) -> tuple[str, ...]:
    names = _texts(table, "evidence", where, faults)
    _known_only(names, dict(PLAIN_NAMES), f"{where}: evidence", faults)
    return tuple(names)


def _settles(table: Table, where: str, faults: list[str]) -> Settles:
    name = _text(table, "settles", where, faults)
    try:
        return Settles(name)
    except ValueError:
        if name:
            faults.append(f"{where}: settles must be one of {', '.join(Settles)}, got {_shown(name)}")
        return Settles.NO_PHOTO


def _all_bands(value: object, faults: list[str]) -> tuple[dict[str, tuple[Band, ...]], dict[str, str]]:
    if not isinstance(value, dict):
        faults.append(f"bands must be tables such as [bands.gape_angle], got {_shown(value)}")
        return {}, {}
    _known_only(list(value), dict(PLAIN_NAMES), "bands", faults)
    bands, notes = {}, {}
    for measure, table in value.items():
        if not isinstance(table, dict):
            faults.append(f"{measure} bands must be a table with names, edges and note, got {_shown(table)}")
            continue
        bands[measure] = _bands(table, measure, faults)
        notes[measure] = _text(table, "note", f"{measure} bands", faults)
    return bands, notes


def _bands(table: Table, measure: str, faults: list[str]) -> tuple[Band, ...]:
    names = _texts(table, "names", f"{measure} bands", faults)
    edges = table.get("edges", [])
    if not isinstance(edges, list) or not all(_is_number(edge) for edge in edges):
        faults.append(f"{measure} band edges must be numbers, got {_shown(edges)}")
        return ()
    if len(names) != len(edges) + 1:
        faults.append(f"{measure} bands need one name more than edges, got {len(names)} names and {len(edges)} edges")
        return ()
    if any(upper <= lower for lower, upper in pairwise(edges)):
        faults.append(f"{measure} band edges must rise, got {', '.join(f'{edge:g}' for edge in edges)}")
    return tuple(
        Band(name=name, low=low, high=high)
        for name, low, high in zip(names, [None, *edges], [*edges, None], strict=True)
    )


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= _FURTHEST_EDGE


def _shown(value: object) -> str:
    """What came, short; a number of thousands of digits, which TOML can write in base 16, is not printed at all."""
    try:
        text = repr(value)
    except ValueError:
        return "a number too long to show"
    return text if len(text) <= 60 else f"{text[:57]}..."
