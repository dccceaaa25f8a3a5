"""The folders at the top of `records` are the ones that there are, and the tables can be made on PostgreSQL too."""

import re
from pathlib import Path

from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

import records
from records.models import Base

FOLDER = Path(records.__file__).parent


def test_every_folder_is_described_and_every_described_folder_exists() -> None:
    described = set(re.findall(r"\b(\w+)/", records.__doc__ or ""))
    assert described == {found.parent.name for found in FOLDER.glob("*/__init__.py")} | {"migrations"}


def test_every_table_has_a_definition_for_postgresql_with_time_zones() -> None:
    made = {
        table.name: str(CreateTable(table).compile(dialect=postgresql.dialect()))
        for table in Base.metadata.sorted_tables
    }
    assert len(made) == 29
    assert "handed_in_at TIMESTAMP WITH TIME ZONE" in made["attempt"]
    assert "landmarks JSON NOT NULL" in made["placed_points"]
