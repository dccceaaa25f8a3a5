"""How repeatably a person clicks: the spread of two blind rounds, in percent of face size."""

from dataclasses import dataclass
from datetime import datetime

from records.people import Person
from records.store import Store


@dataclass(frozen=True, kw_only=True)
class OwnSigmaRecord:
    """One repeat: standard deviation of a coordinate in percent of face size, over `n_points` placed twice."""

    sigma_percent: float
    n_points: int
    measured_at: datetime


@dataclass(frozen=True, kw_only=True)
class OwnSigma:
    """All repeats pooled: sigma² = Σ nᵢσᵢ² / Σ nᵢ. Repeatability, not accuracy."""

    sigma_percent: float
    n_points: int
    rounds: tuple[OwnSigmaRecord, ...]


def record_own_sigma(
    store: Store, person: Person, *, sigma_percent: float, n_points: int, attempt_id: str | None = None
) -> OwnSigmaRecord:
    """Remember one repeat; a second one for the same attempt replaces the first."""
    raise NotImplementedError


def own_sigma_for(store: Store, person: Person) -> OwnSigma | None:
    """The person's own sigma, or None before the first repeat."""
    raise NotImplementedError
