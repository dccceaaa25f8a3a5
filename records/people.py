"""Who acts. For now one local person: whoever sits at this computer."""

from dataclasses import dataclass

from records.store import Store

LOCAL_HANDLE = "this computer"


@dataclass(frozen=True, kw_only=True)
class Person:
    """Someone who practises.

    Parameters
    ----------
    id : str
        Random, 32 hexadecimal digits.
    handle : str
        What tells people apart on this computer; never a real name.
    """

    id: str
    handle: str


def local_person(store: Store) -> Person:
    """The person at this computer, created at first use."""
    raise NotImplementedError
