"""A fresh store for each test."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from records_scene import Scene, make_scene


@pytest.fixture
def scene(tmp_path: Path) -> Iterator[Scene]:
    """A store in a folder of its own."""
    made = make_scene(tmp_path / "data")
    yield made
    made.store.close()
