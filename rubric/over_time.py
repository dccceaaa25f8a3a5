"""One student over time: agreement, over-claiming and angle errors, day by day."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo

import numpy as np

from rubric.feedback import Outcome
from rubric.practice_plan import Attempt
from rubric.review.figures import Share

_COMPARED = frozenset({Outcome.SAME, Outcome.ACCEPTED, Outcome.DIFFERS, Outcome.OVER_CLAIMED, Outcome.UNDER_CLAIMED})


@dataclass(frozen=True, kw_only=True)
class AngleReading:
    """One reading beside the key's.

    Parameters
    ----------
    measure : str
    difference : float
        Own minus key, in the measure's unit.
    at : datetime
        With its time zone.
    """

    measure: str
    difference: float
    at: datetime


@dataclass(frozen=True, kw_only=True)
class DayFigures:
    """One day of practice (UTC).

    Parameters
    ----------
    day : date
    agrees, over_claimed : Share
        Of the answers that were compared that day.
    """

    day: date
    agrees: Share
    over_claimed: Share


@dataclass(frozen=True, kw_only=True)
class DayAngles:
    """One measure on one day (UTC).

    Parameters
    ----------
    day : date
    measure : str
    n : int
    median_error : float
        Median distance from the key, without its sign.
    bias : float
        Mean difference from the key, + reads more.
    """

    day: date
    measure: str
    n: int
    median_error: float
    bias: float


def answers_over_time(attempts: Iterable[Attempt], *, zone: tzinfo | None = UTC) -> tuple[DayFigures, ...]:
    """A student's answers by day, in order; days without a compared answer are left out.

    Parameters
    ----------
    attempts : of one student, in any order
    zone : tzinfo or None
        By whose calendar days are told apart; None: this computer's.
    """
    days: dict[date, list[Outcome]] = {}
    for attempt in attempts:
        if attempt.outcome in _COMPARED:
            days.setdefault(attempt.at.astimezone(zone).date(), []).append(attempt.outcome)
    return tuple(
        DayFigures(
            day=day,
            agrees=Share(count=outcomes.count(Outcome.SAME) + outcomes.count(Outcome.ACCEPTED), n=len(outcomes)),
            over_claimed=Share(count=outcomes.count(Outcome.OVER_CLAIMED), n=len(outcomes)),
        )
        for day, outcomes in sorted(days.items())
    )


def angles_over_time(readings: Iterable[AngleReading], *, zone: tzinfo | None = UTC) -> tuple[DayAngles, ...]:
    """A student's angles by day and measure, in order; `zone` as in `answers_over_time`.

    >>> nine = datetime(2026, 3, 2, 9, tzinfo=UTC)
    >>> read = [AngleReading(measure="gape_angle", difference=d, at=nine) for d in (4.0, -2.0, 7.0)]
    >>> angles_over_time(read)[0].median_error, angles_over_time(read)[0].bias
    (4.0, 3.0)
    """
    groups: dict[tuple[date, str], list[float]] = {}
    for reading in readings:
        groups.setdefault((reading.at.astimezone(zone).date(), reading.measure), []).append(reading.difference)
    return tuple(
        DayAngles(
            day=day,
            measure=measure,
            n=len(differences),
            median_error=float(np.median(np.abs(differences))),
            bias=float(np.mean(differences)),
        )
        for (day, measure), differences in sorted(groups.items())
    )
