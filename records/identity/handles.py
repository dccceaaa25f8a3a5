"""Handles: what tells people apart here. A pseudonym, kept in one form so that two spellings are never two people."""

import unicodedata

from records.errors import InvalidRecord

SHORTEST, LONGEST = 2, 40
_SIGNS = " -_.'"


def folded(handle: str) -> str:
    """The one form in which a handle is kept and looked up: composed, small letters, single spaces.

    Examples
    --------
    >>> folded("  Grey   Heron ")
    'grey heron'
    >>> folded("E\\u0301mile") == folded("\\u00c9MILE")
    True
    """
    composed = unicodedata.normalize("NFC", unicodedata.normalize("NFC", handle).casefold())
    return " ".join(composed.split())


def new_handle(handle: str) -> str:
    """A handle that may be given to someone, in its kept form.

    Raises
    ------
    InvalidRecord
        Where it is too short, too long, or holds more than letters, digits, spaces and a few signs.
    """
    kept = folded(handle)
    if not SHORTEST <= len(kept) <= LONGEST:
        raise InvalidRecord(f"A name here has {SHORTEST} to {LONGEST} characters.")
    if not all(character in _SIGNS or unicodedata.category(character)[0] in "LMN" for character in kept):
        raise InvalidRecord("A name here has letters, digits, spaces, and of other signs only - _ . and '.")
    return kept
