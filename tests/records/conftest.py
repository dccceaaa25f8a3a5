"""A fresh store for each test, on SQLite and on PostgreSQL."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from records_scene import Scene, make_scene

from records.models import Base
from records.store import DATABASE_VARIABLE, Store
from tests.postgres import Server, programs


@pytest.fixture(scope="session")
def postgres(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One server for the whole run, with a migrated database."""
    if programs() is None:
        assert not os.environ.get("REQUIRE_POSTGRES"), "REQUIRE_POSTGRES is set and there is no PostgreSQL server"
        pytest.skip("no PostgreSQL server on this machine (Debian: apt-get install postgresql)")
    with TemporaryDirectory(prefix="postgres-") as folder, Server.running(Path(folder) / "server") as server:
        Store.open(tmp_path_factory.mktemp("ready"), server.url("postgres")).close()
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def scene(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Scene]:
    """A store in a folder of its own, with its records in either database."""
    if request.param == "sqlite":
        made = make_scene(tmp_path / "data")
        yield made
        made.store.close()
        return
    server: Server = request.getfixturevalue("postgres")
    # Whatever opens the same folder again, in this process or another, finds the same records.
    monkeypatch.setenv(DATABASE_VARIABLE, server.url("postgres"))
    made = make_scene(tmp_path / "data")
    yield made
    # A new database for each test would take ten times as long as the usual test.
    with made.store.writing() as session:
        for table in reversed(Base.metadata.sorted_tables):
            session.execute(table.delete())
    made.store.close()


@pytest.fixture
def sqlite_scene(tmp_path: Path) -> Iterator[Scene]:
    """A store on SQLite, for what is said of its file alone."""
    made = make_scene(tmp_path / "data")
    yield made
    made.store.close()


@pytest.fixture(scope="session")
def kill_shim(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The preloaded library that kills between the system calls of SQLite itself."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None or not sys.platform.startswith("linux"):
        pytest.skip("killing between system calls needs Linux and a C compiler")
    library = tmp_path_factory.mktemp("shim") / "kill_shim.so"
    subprocess.run(
        [compiler, "-shared", "-fPIC", "-o", library, Path(__file__).parent / "kill_shim.c", "-ldl"], check=True
    )
    return library
