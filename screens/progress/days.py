"""Day by day: agreement, over-claiming and angles of one person."""

from collections.abc import Iterable

import streamlit as st

from rubric.evidence import plain_name
from rubric.over_time import AngleReading, DayAngles, angles_over_time, answers_over_time
from rubric.practice_plan import Attempt
from screens import look
from screens.local_time import zone
from screens.progress.own_work import ANGLES
from screens.review.charts import share_words


def by_day(attempts: Iterable[Attempt], readings: Iterable[AngleReading]) -> None:
    """Draw the table, where there is a day with anything to compare."""
    days = answers_over_time(attempts, zone=zone())
    angles = {(one.day, one.measure): one for one in angles_over_time(readings, zone=zone())}
    if not days:
        return
    st.subheader("Day by day")
    look.table(
        ["Day", "Same as the keys", "Said more than the photo shows", *(_heading(name) for name in ANGLES)],
        [
            (
                f"{one.day:%d %b %Y}",
                share_words(one.agrees),
                share_words(one.over_claimed),
                *(_angle(angles.get((one.day, name))) for name in ANGLES),
            )
            for one in days
        ],
        "Day by day",
    )
    look.quiet(
        "Shares with their 95 % interval. Angles: how far from the key, half of the readings nearer and half further."
    )


def _heading(name: str) -> str:
    words = plain_name(name)
    return f"{words[:1].upper()}{words[1:]}, off the key"


def _angle(one: DayAngles | None) -> str:
    return "–" if one is None else f"{one.median_error:.0f}° ({one.n} reading{'' if one.n == 1 else 's'})"
