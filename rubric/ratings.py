"""Reading a ratings table: UTF-8 CSV, a column `item` and one column a rater."""

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from rubric.errors import InvalidRatings
from rubric.items import Checklist

MAX_BYTES = 20_000_000

_SEPARATORS = (",", ";", "\t")


@dataclass(frozen=True, kw_only=True)
class RatingsTable:
    """Ratings of items by raters.

    Parameters
    ----------
    items, raters : tuple of str
        Names of rows and columns, each once.
    rows : tuple of tuple of str or None
        One row an item, one cell a rater; None for a blank.
    """

    items: tuple[str, ...]
    raters: tuple[str, ...]
    rows: tuple[tuple[str | None, ...], ...]


def read_ratings(path: Path | str) -> RatingsTable:
    """Read a ratings file; raises InvalidRatings with one sentence that names the file."""
    try:
        with Path(path).open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise InvalidRatings(f"cannot read {path}: {error.strerror or error}") from error
    try:
        return ratings_from_csv(data)
    except InvalidRatings as error:
        raise InvalidRatings(f"{path}: {error}") from error


def ratings_from_csv(data: bytes) -> RatingsTable:
    """Read the bytes of a ratings file.

    Cells are separated by commas, semicolons or tabs, as spreadsheet programs write them, also after a first line such
    as `sep=;`. Space around a cell and capitals do not count, so "Seen " and "seen" are one category. An empty cell is
    a blank; rows without any entry are passed over.

    Raises
    ------
    InvalidRatings
        One sentence on what breaks a rule, with the line where there is one.

    Examples
    --------
    >>> ratings_from_csv(b"item;Ann;Bo\\nphoto 1;seen;\\n").rows
    (('seen', None),)
    """
    text = _decode(data)
    lines = _lines(text, _separator(text))
    header = lines[0][1]
    place = _item_column(header)
    raters = tuple(name for column, name in enumerate(header) if column != place)
    _each_once(raters, "rater")
    if len(raters) < 2:
        raise InvalidRatings(f"agreement needs at least two columns of ratings beside item, got {len(raters)}")
    items, rows = [], []
    for number, cells in lines[1:]:
        if len(cells) != len(header):
            raise InvalidRatings(f"line {number} has {len(cells)} cells, the header has {len(header)}")
        items.append(cells[place])
        rows.append(tuple(cell.casefold() or None for column, cell in enumerate(cells) if column != place))
    if not rows:
        raise InvalidRatings("there are no items below the header")
    _each_once(items, "item")
    return RatingsTable(items=tuple(items), raters=raters, rows=tuple(rows))


def without_ask_items(table: RatingsTable, checklist: Checklist) -> RatingsTable:
    """The table without the items that no photo shows: all would say *can't tell*, which would inflate agreement."""
    ask = {item.id for item in checklist.ask_items()}
    kept = [place for place, item in enumerate(table.items) if item not in ask]
    return RatingsTable(
        items=tuple(table.items[place] for place in kept),
        raters=table.raters,
        rows=tuple(table.rows[place] for place in kept),
    )


def _decode(data: bytes) -> str:
    if len(data) > MAX_BYTES:
        raise InvalidRatings(f"a ratings file has at most {MAX_BYTES // 1_000_000} MB")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InvalidRatings("the file is not UTF-8 text; save it as CSV UTF-8") from None
    if "\0" in text:
        raise InvalidRatings("the file is not text; save it as CSV UTF-8")
    if not text.strip():
        raise InvalidRatings("the file is empty")
    return text


def _separator(text: str) -> str:
    first = next(line for line in text.splitlines() if line.strip())
    if re.fullmatch(r"sep=[,;\t]\s*", first, flags=re.IGNORECASE):
        return first[4]
    return max(_SEPARATORS, key=lambda separator: _header_columns(first, separator))


def _header_columns(line: str, separator: str) -> int:
    """How many columns the header has with that separator; 0 where none of them is `item`."""
    try:
        names = next(csv.reader([line], delimiter=separator, strict=True), [])
    except csv.Error:
        return 0
    return len(names) if any(name.strip().casefold() == "item" for name in names) else 0


def _lines(text: str, separator: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        lines = [(reader.line_num, [cell.strip() for cell in cells]) for cells in reader]
    except csv.Error as error:
        raise InvalidRatings(f"line {reader.line_num} is not CSV: {error}") from error
    lines = [(number, cells) for number, cells in lines if any(cells)]
    if lines and lines[0][1][0].casefold() == "sep=":
        lines = lines[1:]
    if not lines:
        raise InvalidRatings("the file has no header")
    return lines


def _item_column(header: list[str]) -> int:
    columns = [place for place, name in enumerate(header) if name.casefold() == "item"]
    if len(columns) != 1:
        shown = ", ".join(header)
        raise InvalidRatings(
            f"the header needs one column named item, got {shown if len(shown) <= 100 else shown[:97] + '...'}"
        )
    return columns[0]


def _each_once(names: tuple[str, ...] | list[str], what: str) -> None:
    if not all(names):
        raise InvalidRatings(f"every {what} needs a name, number {list(names).index('') + 1} has none")
    twice = [name for name, times in Counter(names).items() if times > 1]
    if twice:
        raise InvalidRatings(f"every {what} must stand there once, got {twice[0]} twice or more")
