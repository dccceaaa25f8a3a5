"""PostgreSQL's own programs for a whole database: found on this computer, run with the password out of sight."""

import os
import shutil
import subprocess
from pathlib import Path

from sqlalchemy import URL

from records.errors import StorageFault

#: What signs people in right now does not belong into a backup.
LEFT_EMPTY = ("session", "tries")


def dump(url: URL, *, snapshot: str, to: Path) -> None:
    """Write the database as it is in an exported snapshot. Raises StorageFault."""
    left_empty = [f"--exclude-table-data={table}" for table in LEFT_EMPTY]
    _run(
        "pg_dump",
        url,
        "--format=custom",
        "--no-owner",
        "--no-privileges",
        *left_empty,
        f"--snapshot={snapshot}",
        f"--file={to}",
    )


def load(url: URL, source: Path) -> None:
    """Bring a dump into an empty database, all of it or nothing. Raises StorageFault."""
    _run(
        "pg_restore",
        url,
        "--single-transaction",
        "--exit-on-error",
        "--no-owner",
        "--no-privileges",
        f"--dbname={url.database}",
        str(source),
    )


def _run(program: str, url: URL, *arguments: str) -> None:
    found = _find(program)
    if found is None:
        raise StorageFault(
            f"The records are in PostgreSQL and its program {program} is not on this computer; please install "
            "PostgreSQL's client programs (Debian: postgresql-client) and try again."
        )
    said = {
        "PGHOST": url.host,
        "PGPORT": url.port,
        "PGUSER": url.username,
        "PGPASSWORD": url.password,
        "PGDATABASE": url.database,
        "PGSSLMODE": url.query.get("sslmode"),
    }
    environment = {**os.environ, **{name: str(value) for name, value in said.items() if value is not None}}
    done = subprocess.run(
        [str(found), "--no-password", *arguments], env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["it gave no reason"])[-1].rstrip(".")
        raise StorageFault(f"PostgreSQL's program {program} could not do it: {last}.")


def _find(program: str) -> Path | None:
    on_path = shutil.which(program)
    # Debian keeps each version in a folder of its own and puts a chooser on the path; the newest fits every server.
    versions = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), key=lambda path: int(path.parts[-3]))
    return versions[-1] if versions else Path(on_path) if on_path else None
