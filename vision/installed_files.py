"""Whether files that came with an installed package are still what was installed.

A C++ library that is handed half a model file may end the whole process instead of raising, and with it everybody's
page. So the files are compared with the list of hashes that every wheel leaves behind, before the library sees them.
"""

import base64
import hashlib
from collections.abc import Sequence
from importlib.metadata import Distribution, PackageNotFoundError, PackagePath, distribution


def damaged_files(package: str, beginnings: Sequence[str], endings: Sequence[str]) -> tuple[str, ...]:
    """The names of those files of a package that are missing or not what was installed, in order.

    Parameters
    ----------
    package : str
        As pip calls it.
    beginnings, endings : sequence of str
        How the names of the files to look at begin and end, as the wheel's own list has them.

    Returns
    -------
    tuple of str
        Empty where all are sound, and where the package or its list is not there to compare with.

    Reference
    ---------
    The list is the RECORD of "Recording installed projects", packaging.python.org.

    Examples
    --------
    >>> damaged_files("no-such-package", ("a",), ("b",))
    ()
    """
    try:
        return damaged_in(distribution(package), beginnings, endings)
    except PackageNotFoundError:
        return ()


def damaged_in(installed: Distribution, beginnings: Sequence[str], endings: Sequence[str]) -> tuple[str, ...]:
    """As `damaged_files`, of a distribution already found."""
    asked = [
        path
        for path in installed.files or ()
        if str(path).startswith(tuple(beginnings)) and str(path).endswith(tuple(endings))
    ]
    return tuple(sorted(str(path) for path in asked if not _is_sound(path)))


def _is_sound(path: PackagePath) -> bool:
    if path.hash is None:
        return True
    try:
        data = path.read_binary()
    except OSError:
        return False
    found = base64.urlsafe_b64encode(hashlib.new(path.hash.mode, data).digest()).rstrip(b"=")
    return found.decode("ascii") == path.hash.value
