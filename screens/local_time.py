"""Moments in the time of whoever reads the page: the browser says which zone that is, else it is this computer's."""

from datetime import date, datetime, time, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from screens.language import N_, _

_MONTHS = (
    N_("January"),
    N_("February"),
    N_("March"),
    N_("April"),
    N_("May"),
    N_("June"),
    N_("July"),
    N_("August"),
    N_("September"),
    N_("October"),
    N_("November"),
    N_("December"),
)
_WEEKDAYS = (
    N_("Monday"),
    N_("Tuesday"),
    N_("Wednesday"),
    N_("Thursday"),
    N_("Friday"),
    N_("Saturday"),
    N_("Sunday"),
)


def here(at: datetime) -> datetime:
    """A moment in the reader's time."""
    return at.astimezone(zone())


def day_words(on: date) -> str:
    """A day as people read it: "5 June 2026" in English. A moment counts as its day in the zone that it carries."""
    return _("{day} {month} {year}").format(day=on.day, month=_(_MONTHS[on.month - 1]), year=on.year)


def moment_words(at: datetime, *, weekday: bool = False) -> str:
    """A moment as people read it, in the reader's time: "Friday 5 June 2026, 14:05" in English."""
    there = here(at)
    clock = f"{there:%H:%M}"
    if not weekday:
        return _("{day}, {time}").format(day=day_words(there), time=clock)
    named = _(_WEEKDAYS[there.weekday()])
    return _("{weekday} {day}, {time}").format(weekday=named, day=day_words(there), time=clock)


def now_here() -> datetime:
    """The present moment in the reader's time."""
    return datetime.now(zone()).astimezone(zone())


def moment_here(day: date, at: time) -> datetime:
    """The moment that a reader means by a day and a time of day."""
    theirs = zone()
    return datetime.combine(day, at).astimezone() if theirs is None else datetime.combine(day, at, tzinfo=theirs)


def zone() -> tzinfo | None:
    """The reader's zone; None for that of this computer, which Python then takes."""
    if get_script_run_ctx(suppress_warning=True) is None:
        return None
    return zone_called(st.context.timezone)


def zone_called(name: object) -> tzinfo | None:
    """The zone of a name that a browser sent; None where there is none of that name.

    Examples
    --------
    >>> zone_called("Europe/Zurich")
    zoneinfo.ZoneInfo(key='Europe/Zurich')
    >>> zone_called("../etc/passwd") is zone_called("Nowhere/Land") is zone_called(None) is None
    True
    """
    if not isinstance(name, str) or not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None
