"""The steps that bring a database to the form that this version of the program needs."""

import threading
from collections.abc import Callable
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Connection, Engine, inspect, text

from records.errors import StorageFault

# Alembic keeps the migration under way in module globals, so threads take turns.
_one_at_a_time = threading.Lock()


def config(connection: Connection | None = None) -> Config:
    """Alembic's settings; they name the migrations beside this file, so any working folder does."""
    settings = Config()
    folder = str(Path(__file__).parent.parent / "migrations")
    settings.set_main_option("script_location", folder.replace("%", "%%"))
    settings.set_main_option("path_separator", "os")
    settings.attributes["connection"] = connection
    return settings


def newest_revision() -> str:
    """The revision that this version of the program needs."""
    return ScriptDirectory.from_config(config()).get_current_head() or ""


def revision_of(connection: Connection) -> str | None:
    """The revision of a database, or None for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return None if found is None else str(found)


def check_unchanged(connection: Connection, revision: str) -> None:
    """Refuse where another program has brought the database to another form since it was opened in this one.

    Raises
    ------
    StorageFault
    """
    if connection.execute(text("SELECT version_num FROM alembic_version")).scalar() != revision:
        raise StorageFault(
            "Another version of this program has taken over these records while this one was running, so nothing was "
            "saved; please end this one and start the other."
        )


def upgrade(engine: Engine, *, before_first: Callable[[], None] = lambda: None) -> str:
    """Run all missing migrations in one transaction; `engine` must begin with the write lock.

    Parameters
    ----------
    engine : Engine
    before_first : callable
        Called where there are no records yet; what it raises keeps them from being begun.

    Returns
    -------
    str
        The revision that the database now has.

    Raises
    ------
    StorageFault
        Where the database was written by a newer version of the program.
    """
    newest = newest_revision()
    with _one_at_a_time, engine.begin() as connection:
        try:
            found = revision_of(connection)
            if found is None:
                before_first()
            if found != newest:
                command.upgrade(config(connection), "head")
            # Changes nothing, but a database that cannot be written is told now and not at the first save.
            connection.execute(text("UPDATE alembic_version SET version_num = version_num"))
        except CommandError as error:
            raise StorageFault(
                "These records were written by a newer version of this program; please start that version."
            ) from error
    return newest
