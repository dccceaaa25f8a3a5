"""The order in which people read names: Student 2 before Student 10, whatever the case of letters."""

import re

_DIGITS = re.compile(r"([0-9]+)")


def natural(name: str) -> tuple[str | int, ...]:
    """A key to sort names by: numbers in them count as numbers.

    Examples
    --------
    >>> sorted(["Student 10", "student 1", "Student 2", "otter"], key=natural)
    ['otter', 'student 1', 'Student 2', 'Student 10']
    """
    return tuple(int(part) if part.isdecimal() else part.casefold() for part in _DIGITS.split(name))
