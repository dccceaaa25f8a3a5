"""Rules for the short texts that people type in."""

from records.errors import InvalidRecord

MAX_CHARACTERS = 80


def required_text(what: str, text: str) -> str:
    """The text without spaces around it.

    Raises
    ------
    InvalidRecord
        Where nothing is left, it is longer than MAX_CHARACTERS, or it holds control characters.

    Examples
    --------
    >>> required_text("the title", "  Doll B, cradle ")
    'Doll B, cradle'
    """
    stripped = text.strip()
    if not stripped or len(stripped) > MAX_CHARACTERS or not stripped.isprintable():
        raise InvalidRecord(f"Please give {what} in 1 to {MAX_CHARACTERS} plain characters, got {len(stripped)}.")
    return stripped
