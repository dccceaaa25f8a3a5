"""The person's own way over time: agreement with the keys, angle differences, click spread, what to practise next. No rank."""

import altair as alt
import pandas as pd
import streamlit as st

from records.attempt.own_sigma import own_sigma_for
from screens import look, places
from screens.data import checklist, me, store
from screens.language import N_, _
from screens.local_time import moment_words
from screens.progress import practise_next
from screens.progress.days import by_day
from screens.progress.own_work import OwnEntry, own_angles, own_attempts, own_entries
from screens.progress.shares import Shares, shares_of
from screens.review import report_routes

_INK, _TEAL, _OCHRE = "#22313A", "#1B6B72", "#B5651D"
#: The angle axis never shows less than this, so that a difference of a degree does not look large.
_LEAST_DEGREES = 15.0
_ANGLES = {"gape_angle": N_("mouth gape"), "alignment_angle": N_("body line angle")}


def show() -> None:
    """Draw the page."""
    st.title(_("My progress"))
    entries = own_entries(store(), me())
    if not entries:
        look.lede(
            _(
                "Nothing is handed in yet. After your first photo a line begins here: how often you and the keys see the "
                "same."
            )
        )
        practise_next.show(entries)
        if st.button(_("Choose a photo")):
            places.go("start")
        return
    look.lede(_("How often you and the keys see the same, and how far your angles lie from the keys', photo by photo."))
    practise_next.show(entries)
    shares = [shares_of(entry, checklist()) for entry in entries]
    _agreement(entries, shares)
    _angles(entries)
    by_day(own_attempts(entries, checklist()), own_angles(entries))
    _spread()
    _list(entries, shares)
    with st.expander(_("Save as a report")):
        look.quiet(_("What stands on this page and each answer that differs from a key, for you alone."))
        report_routes.offer("/reports/mine/report.{ending}")


def _agreement(entries: tuple[OwnEntry, ...], shares: list[Shares]) -> None:
    st.subheader(_("Signs on which you and the key see the same"))
    rows = [
        {"photo": f"{e.number}", "percent": percent, "look": name, "title": e.title}
        for e, own in zip(entries, shares, strict=True)
        for name, percent in ((_("first look"), own.first_percent), (_("handed in"), own.last_percent))
        if percent is not None
    ]
    if not rows:
        look.quiet(_("None of these photos has a key yet."))
        return
    order, looks = [str(e.number) for e in entries], [_("first look"), _("handed in")]
    base = alt.Chart(pd.DataFrame(rows)).encode(
        x=alt.X("photo:N", sort=order, title=_("photos in the order of handing in"), axis=alt.Axis(labelAngle=0)),
        y=alt.Y("percent:Q", title=_("same as the key, %"), scale=alt.Scale(domain=[0, 100])),
        shape=alt.Shape("look:N", title=None, scale=alt.Scale(domain=looks, range=["square", "circle"])),
        color=alt.Color("look:N", title=None, scale=alt.Scale(domain=looks, range=[_OCHRE, _TEAL])),
        strokeDash=alt.StrokeDash("look:N", title=None),
        tooltip=[
            alt.Tooltip("title:N", title=_("Photo")),
            alt.Tooltip("look:N", title=_("Look")),
            alt.Tooltip("percent:Q", title=_("same as the key, %"), format=".0f"),
        ],
    )
    told = _(
        "Signs on which you and the key see the same, photo by photo; the table of all that you handed in tells it too."
    )
    st.altair_chart(_dressed(base.mark_line() + base.mark_point(size=90, filled=True), told))


def _angles(entries: tuple[OwnEntry, ...]) -> None:
    st.subheader(_("Your angles against the key's"))
    rows = [
        {"photo": str(e.number), "degrees": difference, "angle": _(words), "title": e.title}
        for e in entries
        for name, words in _ANGLES.items()
        if (difference := e.difference(name)) is not None
    ]
    if not rows:
        look.quiet(_("As soon as you and a key have both measured an angle, the difference stands here, in degrees."))
        return
    order = [str(e.number) for e in entries]
    names = [_(words) for words in _ANGLES.values()]
    reach = max(_LEAST_DEGREES, *(abs(float(str(row["degrees"]))) for row in rows))
    points = (
        alt.Chart(pd.DataFrame(rows))
        .mark_point(size=110, filled=True, opacity=1)
        .encode(
            x=alt.X("photo:N", sort=order, title=_("photos in the order of handing in"), axis=alt.Axis(labelAngle=0)),
            y=alt.Y("degrees:Q", title=_("yours minus the key's, degrees"), scale=alt.Scale(domain=[-reach, reach])),
            shape=alt.Shape("angle:N", title=None, scale=alt.Scale(domain=names, range=["circle", "square"])),
            color=alt.Color("angle:N", title=None, scale=alt.Scale(domain=names, range=[_TEAL, _OCHRE])),
            tooltip=[
                alt.Tooltip("title:N", title=_("Photo")),
                alt.Tooltip("angle:N", title=_("Angle")),
                alt.Tooltip("degrees:Q", title=_("yours minus the key's, degrees"), format="+.0f"),
            ],
        )
    )
    zero = alt.Chart(pd.DataFrame({"degrees": [0]})).mark_rule(color=_INK, strokeDash=[2, 3]).encode(y="degrees:Q")
    told = _("Your angles against the key's, photo by photo; the table below tells the same.")
    st.altair_chart(_dressed(zero + points, told))
    with st.expander(_("The same as a table")):
        look.table(
            (_("Photo"), _("Angle"), _("yours minus the key's, degrees")),
            [(f"{row['photo']}. {row['title']}", str(row["angle"]), f"{row['degrees']:+.0f}") for row in rows],
            _("Your angles against the key's"),
        )


def _dressed(chart: alt.LayerChart, told: str) -> alt.LayerChart:
    laid_out = chart.properties(height=260, description=told).configure_axis(
        labelColor=_INK, titleColor=_INK, gridColor="#E4DCD0", titleFontWeight="normal"
    )
    dressed: alt.LayerChart = laid_out.configure_legend(labelColor=_INK)
    return dressed


def _spread() -> None:
    st.subheader(_("How repeatably you click"))
    own = own_sigma_for(store(), me())
    if own is None:
        look.quiet(_("Place the points of a photo a second time, blind, and your own click spread stands here."))
        return
    look.quiet(
        _(
            "Your clicks on one place spread by {sigma_percent:.1f} % of the size of the face, over {n_points} "
            "points placed twice. It says how repeatable you are, not how near the truth."
        ).format(sigma_percent=own.sigma_percent, n_points=own.n_points)
    )
    if len(own.rounds) > 1:
        look.table(
            (_("Measured on"), _("Spread, % of the face's size"), _("Points placed twice")),
            [(moment_words(one.measured_at), f"{one.sigma_percent:.1f}", str(one.n_points)) for one in own.rounds],
            _("Your click spread over time"),
        )


def _list(entries: tuple[OwnEntry, ...], shares: list[Shares]) -> None:
    st.subheader(_("All that you handed in"))
    look.table(
        (
            _("No."),
            _("Photo"),
            _("Handed in"),
            _("First look"),
            _("Handed in, same as key"),
            _("Said more than the key finds"),
        ),
        [
            (
                str(e.number),
                e.title,
                moment_words(e.done.handed_in_at),
                _percent(own.first_percent, own),
                _percent(own.last_percent, own),
                _("no key yet") if own.over_claimed is None else str(own.over_claimed),
            )
            for e, own in zip(entries, shares, strict=True)
        ],
        _("All that you handed in"),
    )
    chosen = st.selectbox(
        _("Read the feedback again"),
        range(len(entries)),
        index=None,
        format_func=lambda at: f"{entries[at].number}. {entries[at].title}",
        placeholder=_("Choose one"),
    )
    if chosen is not None:
        places.go("feedback", attempt=entries[chosen].done.attempt_id)


def _percent(value: float | None, own: Shares) -> str:
    if own.over_claimed is None:
        return _("no key yet")
    return "–" if value is None else f"{value:.0f} %"
