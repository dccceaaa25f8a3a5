"""Ratings as arrays: categories become codes, numbers become floats, blanks are -1 or NaN."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rubric.errors import InvalidRatings
from rubric.said import Said

Rating = str | float | None
Table = Sequence[Sequence[Rating]]

#: The code of a blank.
BLANK = -1

#: Squares of larger numbers could leave what a float holds.
_LARGEST = 1e100


@dataclass(frozen=True, kw_only=True, eq=False)
class CodedTable:
    """Categories as whole numbers.

    Parameters
    ----------
    codes : array of int, shape (items, raters)
        Places in `categories`; -1 for a blank. Copied, and read-only afterwards.
    categories : tuple of str or float
        All categories, each once; in their order where the order counts.

    Raises
    ------
    InvalidRatings
        For an array of another shape or kind, or a code without a category.
    """

    codes: NDArray[np.int32]
    categories: tuple[Rating, ...]

    def __post_init__(self) -> None:
        given = np.asarray(self.codes)
        if given.ndim != 2 or not np.issubdtype(given.dtype, np.integer):
            raise InvalidRatings(f"codes are whole numbers by item and rater, got {given.dtype} of shape {given.shape}")
        if given.size and (given.min() < BLANK or given.max() >= len(self.categories)):
            most = len(self.categories) - 1
            raise InvalidRatings(f"codes run from -1 to {most}, got {given.min()} to {given.max()}")
        own = np.array(given, dtype=np.int32)
        own.flags.writeable = False
        object.__setattr__(self, "codes", own)

    @property
    def n_raters(self) -> int:
        """Columns of the table, also of raters who answered nothing."""
        return self.codes.shape[1]

    def counts(self) -> NDArray[np.int64]:
        """How many raters put each item into each category, shape (items, categories)."""
        n_items, n_categories = len(self.codes), len(self.categories)
        item, _ = np.nonzero(self.codes != BLANK)
        place = item * n_categories + self.codes[self.codes != BLANK]
        return np.bincount(place, minlength=n_items * n_categories).reshape(n_items, n_categories)


def coded(table: Table | CodedTable, categories: Sequence[Rating] | None = None) -> CodedTable:
    """The table as codes; None, "" and NaN are blanks.

    Without `categories` they stand in the order in which they first come, with `categories` in that order.

    Raises
    ------
    InvalidRatings
        For rows of different lengths, or a rating that is not among `categories`.

    Examples
    --------
    >>> coded([["seen", None], ["cant_tell", "seen"]]).codes.tolist()
    [[0, -1], [1, 0]]
    """
    if isinstance(table, CodedTable):
        return table
    n_raters = _width(table)
    place: dict[Rating, int] = {category: index for index, category in enumerate(dict.fromkeys(categories or ()))}
    codes = np.full((len(table), n_raters), BLANK, dtype=np.int32)
    for number, row in enumerate(table):
        codes[number] = [BLANK if _blank(rating) else place.setdefault(rating, len(place)) for rating in row]
    known = len(dict.fromkeys(categories)) if categories else len(place)
    if len(place) > known:
        names = list(place)
        raise InvalidRatings(f"a rating must be one of {', '.join(map(str, names[:known]))}, got {names[known]}")
    return CodedTable(codes=codes, categories=tuple(place))


def numbers(table: Sequence[Sequence[Rating]] | NDArray[np.float64]) -> NDArray[np.float64]:
    """The table as floats of shape (items, raters); None, "" and NaN become NaN.

    Raises
    ------
    InvalidRatings
        For rows of different lengths, text that is no number, or infinity.

    Examples
    --------
    >>> numbers([[90, None], ["85.5", 92]]).tolist()
    [[90.0, nan], [85.5, 92.0]]
    """
    if isinstance(table, np.ndarray):
        values = np.array(table, dtype=np.float64)
        if values.ndim != 2 or (np.abs(values) > _LARGEST).any():
            raise InvalidRatings(f"this needs numbers up to {_LARGEST:g} by item and rater, got shape {values.shape}")
        return values
    n_raters = _width(table)
    return np.array([[_number(cell) for cell in row] for row in table], dtype=np.float64).reshape(len(table), n_raters)


def _width(table: Sequence[Sequence[object]]) -> int:
    lengths = {len(row) for row in table}
    if len(lengths) > 1:
        raise InvalidRatings(f"every item needs one cell for each rater, got rows of {sorted(lengths)} cells")
    return lengths.pop() if lengths else 0


def _blank(rating: object) -> bool:
    return rating is None or rating == "" or rating != rating  # NaN is the one value that differs from itself


def _number(cell: object) -> float:
    if _blank(cell):
        return float("nan")
    try:
        value = float(str(cell))
    except ValueError:
        raise InvalidRatings(f"this needs numbers, got {str(cell)[:60]}") from None
    if not abs(value) <= _LARGEST:
        raise InvalidRatings(f"this needs numbers up to {_LARGEST:g}, got {str(cell)[:60]}")
    return value


def too_little(n_raters: int, n_items: int) -> str | None:
    """Why there is nothing to compare, or None."""
    if n_raters < 2:
        return Said("agreement needs at least two raters, got {n}", n=n_raters)
    return None if n_items else Said("no item was rated by two raters")
