"""Turns what a database says in its own words into one sentence for a person."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError, InterfaceError, OperationalError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from records.errors import InvalidRecord, RecordsError, StorageFault

BUSY = "The records are in use by another window or program just now; please try again in a moment."
_SENTENCES = {
    sqlite3.SQLITE_BUSY: BUSY,
    sqlite3.SQLITE_LOCKED: BUSY,
    sqlite3.SQLITE_FULL: "The disk is full, so nothing was saved; please free some space and try again.",
    sqlite3.SQLITE_READONLY: "The data folder cannot be written, so nothing was saved; please check its permissions.",
    sqlite3.SQLITE_PERM: "The data folder cannot be written, so nothing was saved; please check its permissions.",
    sqlite3.SQLITE_CANTOPEN: "The records cannot be opened; please check that the data folder is there and writable.",
    sqlite3.SQLITE_IOERR: "The disk did not take or give the records, so nothing was saved; please check its space and health.",
    sqlite3.SQLITE_CORRUPT: "The file of the records is damaged; please restore it from a backup.",
    sqlite3.SQLITE_NOTADB: "The file of the records is not one of this program's; please restore it from a backup.",
}
_NO_ANSWER = "The database of the records does not answer just now; please try again in a moment."
_FULL = _SENTENCES[sqlite3.SQLITE_FULL]
_READ_ONLY = (
    "The database of the records takes no changes just now, so nothing was saved; please tell whoever keeps it."
)
#: PostgreSQL's states, by their beginning, the longer first.
_STATES = {
    "08": _NO_ANSWER,
    "57P": _NO_ANSWER,
    "53100": _FULL,
    "53300": BUSY,
    "57014": BUSY,
    "55P03": BUSY,
    "40": BUSY,
    "25006": _READ_ONLY,
    "42501": _READ_ONLY,
}
_OTHER = "The records could not be read or written; please check the data folder and try again."


def _sentence(error: SQLAlchemyError | sqlite3.Error) -> RecordsError:
    if isinstance(error, PoolTimeout):
        return StorageFault(BUSY)
    if isinstance(error, IntegrityError):
        return InvalidRecord("The entry does not fit the rest of the records, so nothing was saved.")
    original = getattr(error, "orig", error)
    code = getattr(original, "sqlite_errorcode", None)
    if isinstance(code, int):
        # The low byte is the primary code, the rest says more about it.
        return StorageFault(_SENTENCES.get(code & 0xFF, _OTHER))
    state = getattr(original, "sqlstate", None)
    if state is not None:
        return StorageFault(next((said for start, said in _STATES.items() if str(state).startswith(start)), _OTHER))
    # A server that is gone gives no state.
    return StorageFault(_NO_ANSWER if isinstance(error, OperationalError | InterfaceError) else _OTHER)


@contextmanager
def in_one_sentence() -> Iterator[None]:
    """Raise StorageFault or InvalidRecord in place of the database's own errors."""
    try:
        yield
    except (DBAPIError, PoolTimeout, sqlite3.Error) as error:
        raise _sentence(error) from error
