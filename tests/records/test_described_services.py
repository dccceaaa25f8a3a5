"""The list of services at the top of `records` is true, and the tables can be made on PostgreSQL too."""

import importlib
import inspect
import re

from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

import records
from records.models import Base

_ENTRY = re.compile(r"^    (\w+)\.((?:Store\.)?\w+)\((.*?)\)(?:\s|$)", re.MULTILINE | re.DOTALL)


def listed() -> dict[str, list[str]]:
    """Module and function -> names of the parameters, as the docstring lists them."""
    found = {}
    for module, name, parameters in _ENTRY.findall(records.__doc__ or ""):
        names = [re.split(r"[=:]", part)[0].strip() for part in parameters.split(",")]
        found[f"{module}.{name}"] = [name for name in names if name and name != "*"]
    return found


def test_every_listed_service_exists_with_these_parameters() -> None:
    entries = listed()
    assert len(entries) >= 24
    for name, parameters in entries.items():
        module, *path = name.split(".")
        found = importlib.import_module(f"records.{module}")
        for part in path:
            found = getattr(found, part)
        assert list(inspect.signature(found).parameters) == parameters, name


def test_every_table_has_a_definition_for_postgresql_with_time_zones() -> None:
    made = {
        table.name: str(CreateTable(table).compile(dialect=postgresql.dialect()))
        for table in Base.metadata.sorted_tables
    }
    assert len(made) == 29
    assert "handed_in_at TIMESTAMP WITH TIME ZONE" in made["attempt"]
    assert "landmarks JSON NOT NULL" in made["placed_points"]
