"""The person's own way over time: agreement with the keys, angle differences, click spread. No rank, no mark."""

from dataclasses import dataclass
from datetime import datetime

import altair as alt
import pandas as pd
import streamlit as st

from records.errors import RecordsError
from records.handing_in import HandedIn, history
from records.keys import KeyRecord, key_for, key_waits
from records.own_sigma import own_sigma_for
from rubric.feedback import compare_with_key
from rubric.measure_feedback import compare_measures
from screens import look, places
from screens.data import checklist, me, store
from screens.measuring import evidence_values, from_json

_INK, _TEAL, _OCHRE = "#22313A", "#1B6B72", "#B5651D"
_LOOKS = ["first look", "handed in"]
#: The angle axis never shows less than this, so that a difference of a degree does not look large.
_LEAST_DEGREES = 15.0
_ANGLES = {"gape_angle": "mouth gape", "alignment_angle": "body line angle"}


@dataclass(frozen=True, kw_only=True)
class _Entry:
    """One attempt that was handed in, beside its key where there is one."""

    number: int
    when: datetime
    title: str
    first_percent: float | None
    last_percent: float | None
    over_claimed: int | None
    angle_differences: dict[str, float]


def show() -> None:
    """Draw the page."""
    st.title("My progress")
    done = history(store(), me())
    if not done:
        look.lede(
            "Nothing is handed in yet. After your first photo a line begins here: how often you and the keys see the same."
        )
        if st.button("Choose a photo", type="primary"):
            places.go("start")
        return
    entries = [_entry(number, item) for number, item in enumerate(done, start=1)]
    look.lede("How often you and the keys see the same, and how far your angles lie from the keys', photo by photo.")
    _agreement(entries)
    _angles(entries)
    _spread()
    _list(done, entries)


def _key(item: HandedIn) -> KeyRecord | None:
    try:
        # Asked first, so that looking at one's own progress does not fill the log with refusals.
        waits = key_waits(store(), me(), item.attempt_id)
        return key_for(store(), me(), item.attempt_id) if waits is None else None
    except RecordsError:
        return None


def _entry(number: int, item: HandedIn) -> _Entry:
    key = _key(item)
    shares: dict[int, float | None] = {1: None, 2: None}
    over: int | None = None
    differences: dict[str, float] = {}
    if key is not None:
        for round, sheet in sorted(item.sheets.items()):
            result = compare_with_key(checklist(), sheet, key.key)
            shares[round] = 100 * result.n_same / result.n_compared if result.n_compared else None
            over = len(result.over_claimed)  # ends as that of the last round
        if key.landmarks is not None:
            compared = compare_measures(from_json(item.measures), evidence_values(key.landmarks))
            differences = {m.name: m.difference for m in compared if m.name in _ANGLES and m.difference is not None}
    last = max(item.sheets)
    return _Entry(
        number=number,
        when=item.handed_in_at,
        title=item.photo_title or "a photo that is no longer here",
        first_percent=shares[1],
        last_percent=shares[last],
        over_claimed=over,
        angle_differences=differences,
    )


def _agreement(entries: list[_Entry]) -> None:
    st.subheader("Signs on which you and the key see the same")
    rows = [
        {"photo": f"{e.number}", "percent": percent, "look": name, "title": e.title}
        for e in entries
        for name, percent in (("first look", e.first_percent), ("handed in", e.last_percent))
        if percent is not None
    ]
    if not rows:
        look.quiet("None of these photos has a key yet.")
        return
    order = [str(e.number) for e in entries]
    base = alt.Chart(pd.DataFrame(rows)).encode(
        x=alt.X("photo:N", sort=order, title="photos in the order of handing in", axis=alt.Axis(labelAngle=0)),
        y=alt.Y("percent:Q", title="same as the key, %", scale=alt.Scale(domain=[0, 100])),
        shape=alt.Shape(
            "look:N", title=None, scale=alt.Scale(domain=["first look", "handed in"], range=["square", "circle"])
        ),
        color=alt.Color(
            "look:N", title=None, scale=alt.Scale(domain=["first look", "handed in"], range=[_OCHRE, _TEAL])
        ),
        strokeDash=alt.StrokeDash("look:N", title=None),
        tooltip=["title:N", "look:N", alt.Tooltip("percent:Q", format=".0f")],
    )
    st.altair_chart(_dressed(base.mark_line() + base.mark_point(size=90, filled=True)))


def _angles(entries: list[_Entry]) -> None:
    st.subheader("Your angles against the key's")
    rows = [
        {"photo": str(e.number), "degrees": difference, "angle": _ANGLES[name], "title": e.title}
        for e in entries
        for name, difference in e.angle_differences.items()
    ]
    if not rows:
        look.quiet("As soon as you and a key have both measured an angle, the difference stands here, in degrees.")
        return
    order = [str(e.number) for e in entries]
    names = list(_ANGLES.values())
    reach = max(_LEAST_DEGREES, *(abs(difference) for e in entries for difference in e.angle_differences.values()))
    points = (
        alt.Chart(pd.DataFrame(rows))
        .mark_point(size=110, filled=True, opacity=1)
        .encode(
            x=alt.X("photo:N", sort=order, title="photos in the order of handing in", axis=alt.Axis(labelAngle=0)),
            y=alt.Y("degrees:Q", title="yours minus the key's, degrees", scale=alt.Scale(domain=[-reach, reach])),
            shape=alt.Shape("angle:N", title=None, scale=alt.Scale(domain=names, range=["circle", "square"])),
            color=alt.Color("angle:N", title=None, scale=alt.Scale(domain=names, range=[_TEAL, _OCHRE])),
            tooltip=["title:N", "angle:N", alt.Tooltip("degrees:Q", format="+.0f")],
        )
    )
    zero = alt.Chart(pd.DataFrame({"degrees": [0]})).mark_rule(color=_INK, strokeDash=[2, 3]).encode(y="degrees:Q")
    st.altair_chart(_dressed(zero + points))


def _dressed(chart: alt.LayerChart) -> alt.LayerChart:
    dressed: alt.LayerChart = chart.properties(height=260).configure_axis(
        labelColor=_INK, titleColor=_INK, gridColor="#E4DCD0", titleFontWeight="normal"
    )
    return dressed


def _spread() -> None:
    st.subheader("How repeatably you click")
    own = own_sigma_for(store(), me())
    if own is None:
        look.quiet("Place the points of a photo a second time, blind, and your own click spread stands here.")
        return
    look.quiet(
        f"Your clicks on one place spread by {own.sigma_percent:.1f} % of the size of the face, over {own.n_points} points "
        "placed twice. It says how repeatable you are, not how near the truth."
    )


def _list(done: tuple[HandedIn, ...], entries: list[_Entry]) -> None:
    st.subheader("All that you handed in")
    look.table(
        ("No.", "Photo", "Handed in", "First look", "Handed in, same as key", "Said more than the key finds"),
        [
            (
                str(e.number),
                e.title,
                f"{e.when:%d %b %Y %H:%M}",
                _percent(e.first_percent),
                _percent(e.last_percent),
                _count(e),
            )
            for e in entries
        ],
        "All that you handed in",
    )
    chosen = st.selectbox(
        "Read the feedback again",
        range(len(done)),
        index=None,
        format_func=lambda at: f"{entries[at].number}. {entries[at].title}",
        placeholder="Choose one",
    )
    if chosen is not None:
        places.go("feedback", attempt=done[chosen].attempt_id)


def _percent(value: float | None) -> str:
    return "no key yet" if value is None else f"{value:.0f} %"


def _count(entry: _Entry) -> str:
    return "no key yet" if entry.over_claimed is None else str(entry.over_claimed)
