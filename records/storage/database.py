"""How the database is reached: its settings, how a transaction begins, and whether its file is still the same."""

import json
import sqlite3
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Self

from sqlalchemy import URL, Connection, Engine, ExceptionContext, create_engine, event


@dataclass(frozen=True, kw_only=True)
class FileMark:
    """What tells the open database from another file in its place: SQLite would go on writing to a deleted one."""

    path: Path
    device: int
    number: int

    @classmethod
    def of(cls, url: URL) -> Self | None:
        """The mark of a SQLite file; None for any other database."""
        path = Path(url.database or "")
        if url.get_backend_name() != "sqlite" or not path.is_file():
            return None
        found = path.stat()
        return cls(path=path, device=found.st_dev, number=found.st_ino)

    def is_there(self) -> bool:
        """Whether the very file that was marked still lies in its place."""
        try:
            found = self.path.stat()
        except OSError:
            return False
        return (found.st_dev, found.st_ino) == (self.device, self.number)


def engine_for(url: URL, busy_seconds: float) -> Engine:
    """An engine that threads can share; it waits `busy_seconds` for another writer."""
    # A connection belongs to one transaction of one thread at a time; the pool hands it on afterwards.
    engine = create_engine(
        url,
        pool_size=8,
        max_overflow=24,
        pool_timeout=max(busy_seconds, 1.0),
        json_serializer=partial(json.dumps, allow_nan=False, ensure_ascii=False),
        # A server may have been restarted since a connection was last used.
        pool_pre_ping=url.get_backend_name() != "sqlite",
    )
    if url.get_backend_name() == "sqlite":
        event.listen(engine, "connect", partial(_prepare_sqlite, busy_seconds))
        event.listen(engine, "begin", _begin_sqlite)
        event.listen(engine, "handle_error", _begin_anew_after_faults)
    elif url.get_backend_name() == "postgresql":
        event.listen(engine, "begin", partial(_begin_postgres, busy_seconds))
    return engine


def _prepare_sqlite(busy_seconds: float, connection: Any, _record: Any) -> None:
    # Python's driver would begin transactions by its own rules; `_begin_sqlite` does it instead.
    connection.isolation_level = None
    cursor = connection.cursor()
    for pragma in (
        f"busy_timeout = {round(1000 * busy_seconds)}",
        "journal_mode = WAL",
        # FULL waits for the disk at each commit, so that what was handed in survives a power cut.
        "synchronous = FULL",
        "foreign_keys = ON",
        # What is withdrawn must not stay readable in free pages.
        "secure_delete = ON",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


#: What a connection once met it meets for ever, also when the folder can be written again.
_STAYS = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_IOERR}


def _begin_anew_after_faults(context: ExceptionContext) -> None:
    """Have the pool open new connections after a fault of the disk."""
    code = getattr(context.original_exception, "sqlite_errorcode", None)
    if isinstance(code, int) and code & 0xFF in _STAYS:
        context.is_disconnect = True


def _begin_sqlite(connection: Connection) -> None:
    takes_lock = connection.get_execution_options().get("takes_write_lock", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if takes_lock else "BEGIN")


#: Any number will do, as long as every process that writes these records takes the same.
_WRITE_LOCK = 7152063


def _begin_postgres(busy_seconds: float, connection: Connection) -> None:
    """One writer at a time across all processes, and readers that see one state: the rules that SQLite has by itself."""
    if connection.get_execution_options().get("takes_write_lock", False):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {round(1000 * busy_seconds)}")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITE_LOCK})")
    else:
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
