"""The store: the data folder and its database, opened once and shared by all threads."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Self


@dataclass(frozen=True, kw_only=True)
class Sweep:
    """What opening found in the photo folder.

    Parameters
    ----------
    removed : int
        Files without a record that were removed.
    missing : tuple of str
        Ids of photos whose files are not there.
    not_removed : int
        Files without a record that could not be removed.
    """

    removed: int = 0
    missing: tuple[str, ...] = ()
    not_removed: int = 0


class Store:
    """The data folder and its database; safe to share between threads."""

    folder: Path
    sweep: Sweep

    @classmethod
    def open(
        cls,
        folder: Path | None = None,
        url: str | None = None,
        *,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        busy_seconds: float = 5.0,
    ) -> Self:
        """Open the store, creating and migrating what is needed."""
        raise NotImplementedError

    def close(self) -> None:
        """Let go of all connections."""
        raise NotImplementedError
