"""How repeatably a person clicks: the spread of two blind rounds, in percent of face size."""

import secrets
from dataclasses import dataclass
from datetime import datetime
from math import isfinite, sqrt

from sqlalchemy import select

from records.access import own_attempt
from records.errors import InvalidRecord
from records.identity.people import Person
from records.models import OwnSigmaRow
from records.rights import Right, service
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


@service(Right.PRACTISE)
def record_own_sigma(
    store: Store, person: Person, *, sigma_percent: float, n_points: int, attempt_id: str | None = None
) -> OwnSigmaRecord:
    """Remember one repeat; a second one for the same attempt replaces the first.

    Parameters
    ----------
    sigma_percent : float
        Standard deviation of a coordinate in percent of face size, not negative.
    n_points : int
        How many points were placed twice, at least 1.
    attempt_id : str or None
        The attempt of this person in which it was measured.

    Raises
    ------
    InvalidRecord, NotFound, NotAllowed
    """
    if not (isfinite(sigma_percent) and sigma_percent >= 0 and n_points >= 1):
        raise InvalidRecord(
            f"A repeat has a spread of 0 or more over 1 or more points, got {sigma_percent}, {n_points}."
        )
    with store.writing() as session:
        row = None
        if attempt_id is not None:
            own_attempt(session, person, attempt_id)
            row = session.scalar(select(OwnSigmaRow).where(OwnSigmaRow.attempt_id == attempt_id))
        if row is None:
            row = OwnSigmaRow(id=secrets.token_hex(16), person_id=person.id, attempt_id=attempt_id)
            session.add(row)
        row.sigma_percent, row.n_points, row.measured_at = sigma_percent, n_points, store.now()
        session.flush()
        return _record_of(row)


@service(Right.PRACTISE)
def own_sigma_for(store: Store, person: Person) -> OwnSigma | None:
    """The person's own sigma, or None before the first repeat."""
    mine = (
        select(OwnSigmaRow).where(OwnSigmaRow.person_id == person.id).order_by(OwnSigmaRow.measured_at, OwnSigmaRow.id)
    )
    with store.reading() as session:
        rounds = tuple(_record_of(row) for row in session.scalars(mine))
    if not rounds:
        return None
    n_points = sum(one.n_points for one in rounds)
    variance = sum(one.n_points * one.sigma_percent**2 for one in rounds) / n_points
    return OwnSigma(sigma_percent=sqrt(variance), n_points=n_points, rounds=rounds)


def _record_of(row: OwnSigmaRow) -> OwnSigmaRecord:
    return OwnSigmaRecord(sigma_percent=row.sigma_percent, n_points=row.n_points, measured_at=row.measured_at)
