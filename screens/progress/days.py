"""Day by day: agreement, over-claiming and angles of one person."""

from collections.abc import Iterable

import streamlit as st

from rubric.evidence import plain_name
from rubric.over_time import AngleReading, DayAngles, angles_over_time, answers_over_time
from rubric.practice_plan import Attempt
from screens import look
from screens.language import _, _n
from screens.local_time import day_words, zone
from screens.progress.own_work import ANGLES
from screens.review.charts import share_words


def by_day(attempts: Iterable[Attempt], readings: Iterable[AngleReading]) -> None:
    """Draw the table, where there is a day with anything to compare."""
    days = answers_over_time(attempts, zone=zone())
    angles = {(one.day, one.measure): one for one in angles_over_time(readings, zone=zone())}
    if not days:
        return
    st.subheader(_("Day by day"))
    look.table(
        [_("Day"), _("Same as the keys"), _("Said more than the photo shows"), *(_heading(name) for name in ANGLES)],
        [
            (
                day_words(one.day),
                share_words(one.agrees),
                share_words(one.over_claimed),
                *(_angle(angles.get((one.day, name))) for name in ANGLES),
            )
            for one in days
        ],
        _("Day by day"),
    )
    look.quiet(
        _(
            "Shares with their 95 % interval. Angles: how far from the key, half of the readings nearer and half "
            "further."
        )
    )


def _heading(name: str) -> str:
    words = _("{measure}, off the key").format(measure=_(plain_name(name)))
    return words[:1].upper() + words[1:]


def _angle(one: DayAngles | None) -> str:
    if one is None:
        return "–"
    text = _n("{degrees:.0f}° ({n} reading)", "{degrees:.0f}° ({n} readings)", one.n)
    return text.format(degrees=one.median_error, n=one.n)
