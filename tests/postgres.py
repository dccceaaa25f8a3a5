"""A PostgreSQL server of its own for the tests: a fresh cluster on loopback, a fresh database for each test."""

import os
import shutil
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psutil
import psycopg
from sqlalchemy import URL


def programs() -> Path | None:
    """The folder with `initdb` and `pg_ctl`, the newest where there are several; None where there is no server."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    return Path(on_path).parent if on_path else None


@dataclass
class Server:
    """A running server; `folder` is its cluster, `made` counts further databases.

    Only a test that kills it needs `waits_for_disk`; the others are several times faster without.
    """

    folder: Path
    bin: Path
    port: int
    waits_for_disk: bool = False
    made: int = 0

    def url(self, database: str) -> str:
        """The address of a database as SQLAlchemy takes it."""
        place = URL.create(
            "postgresql+psycopg", username="postgres", host="127.0.0.1", port=self.port, database=database
        )
        return place.render_as_string(hide_password=False)

    def new_database(self) -> str:
        """Make an empty database; returns its name."""
        self.made += 1
        name = f"made_{self.made}"
        self.run_sql(f"CREATE DATABASE {name}")
        return name

    def drop(self, name: str) -> None:
        """Remove a database and cut off whoever still uses it."""
        self.run_sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def run_sql(self, statement: str) -> None:
        """Run one statement outside a transaction."""
        with psycopg.connect(
            host="127.0.0.1", port=self.port, user="postgres", dbname="postgres", autocommit=True
        ) as link:
            link.execute(statement.encode())

    def start(self) -> None:
        """Start the server and wait until it answers."""
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories= -c max_connections=200"
        if not self.waits_for_disk:
            options += " -c fsync=off -c synchronous_commit=off -c full_page_writes=off"
        self._as_server(self.bin / "pg_ctl", "-w", "-t", "60", "-o", options, "-l", self.folder / "log", "start")

    def stop(self, mode: str = "fast") -> None:
        """Stop the server."""
        self._as_server(self.bin / "pg_ctl", "-w", "-m", mode, "stop")

    def kill(self) -> None:
        """End all of the server's processes at once, as a power cut would (SIGKILL), and wait until they are gone."""
        first = psutil.Process(int((self.folder / "postmaster.pid").read_text().split()[0]))
        everyone = [first, *first.children(recursive=True)]
        for process in everyone:
            process.kill()
        _, alive = psutil.wait_procs(everyone, timeout=20)
        assert not alive, alive

    def _as_server(self, *command: object) -> None:
        words = [str(word) for word in command]
        # The server refuses to run as root.
        before = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        done = subprocess.run(
            [*before, *words],
            env={**os.environ, "PGDATA": str(self.folder), "LC_ALL": "C.UTF-8"},
            cwd="/",
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            timeout=120,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"{Path(words[0]).name} ended with {done.returncode}: {done.stderr.strip()[-500:]}")

    @classmethod
    @contextmanager
    def running(cls, folder: Path, *, waits_for_disk: bool = False) -> Iterator["Server"]:
        """A server in a new cluster in `folder` (made here), stopped at the end."""
        found = programs()
        if found is None:
            raise RuntimeError("There is no PostgreSQL server on this machine.")
        folder.mkdir(parents=True)
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres")
            for parent in folder.parents:
                if parent == Path("/"):
                    break
                parent.chmod(parent.stat().st_mode | 0o011)
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        server = cls(folder=folder / "cluster", bin=found, port=port, waits_for_disk=waits_for_disk)
        server._as_server(
            found / "initdb", "-D", server.folder, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-locale", "-N"
        )
        server.start()
        try:
            yield server
        finally:
            server.stop("immediate")
