"""The mark of a restore into PostgreSQL that is under way: a table in the database, gone once folder and database fit.

There the records come back in a transaction of PostgreSQL's own program, and the folder by a rename afterwards. A restore
that is cut off between the two would leave records without their photos; with the mark it is told, and can be done again.
"""

from pathlib import Path

from sqlalchemy import URL, Connection, Engine, MetaData, create_engine, inspect, text

from records.errors import StorageFault

TABLE = "restore_under_way"
#: The file that a restored folder brings along; it holds the same token as the table.
FILE = "restored"


def begin(url: URL, token: str) -> None:
    """Mark an empty database, or empty one that a cut-off restore has left behind, and mark it anew."""
    engine = create_engine(url)
    try:
        with engine.begin() as connection:
            if is_marked(connection):
                left = MetaData()
                left.reflect(connection)
                left.drop_all(connection)
            connection.execute(text(f"CREATE TABLE {TABLE} (token VARCHAR(32) NOT NULL)"))
            connection.execute(text(f"INSERT INTO {TABLE} VALUES (:token)"), {"token": token})
    finally:
        engine.dispose()


def is_marked(connection: Connection) -> bool:
    """Whether a restore into this database has begun and not ended."""
    return inspect(connection).has_table(TABLE)


def check_finished(engine: Engine, folder: Path) -> None:
    """Return only where no restore was cut off between the database and this folder.

    Raises
    ------
    StorageFault
    """
    if engine.dialect.name == "sqlite":
        return
    with engine.connect() as connection:
        if is_marked(connection) and _token(connection) != token_of(folder):
            raise StorageFault(
                "Restoring a backup into this database was cut off, so it holds records without their photos; please restore "
                "the backup again."
            )


def end(connection: Connection) -> None:
    """Take the mark away."""
    if is_marked(connection):
        connection.execute(text(f"DROP TABLE {TABLE}"))


def token_of(folder: Path) -> str | None:
    """What the mark in a restored folder says; None where there is none."""
    try:
        return (folder / FILE).read_text(encoding="ascii")
    except (OSError, UnicodeDecodeError):
        return None


def _token(connection: Connection) -> str | None:
    return connection.execute(text(f"SELECT token FROM {TABLE}")).scalar()
