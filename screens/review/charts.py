"""Charts that can be read without colour: every mark carries its number, every chart has its table beside it."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from html import escape

import altair as alt
import pandas as pd
import streamlit as st

from rubric.review.figures import Share
from screens.language import _

_TEXT = "#22313A"
_TEAL = "#1B6B72"

#: From few to all: falls in lightness all the way, and stays light enough for dark numbers.
HEAT = ("#F6E3C5", "#B7D3C6", "#69A8A8")


@dataclass(frozen=True, kw_only=True)
class MapCell:
    """One cell: a share or None, of `n` answers; `words` stand in it instead of the percentage where they are not None."""

    sign: str
    photo: str
    share: float | None
    n: int
    remark: str
    words: str | None = None


def heat_map(cells: Sequence[MapCell], label: str, legend: str) -> None:
    """Signs by photos, each cell with its percentage in it."""
    data = pd.DataFrame([{**asdict(cell), "words": _in_cell(cell)} for cell in cells])
    if data.empty:
        st.info(_("There is nothing to compare yet."))
        return
    base = alt.Chart(data).encode(
        x=alt.X(
            "photo:N",
            sort=sorted(set(data["photo"]), key=int),
            title=_("photo"),
            axis=alt.Axis(labelAngle=0, orient="top", labelColor=_TEXT, titleColor=_TEXT),
        ),
        y=alt.Y(
            "sign:N",
            sort=list(dict.fromkeys(data["sign"])),
            title=None,
            axis=alt.Axis(labelLimit=480, labelColor=_TEXT),
        ),
    )
    squares = base.mark_rect(stroke="white").encode(
        color=alt.Color(
            "share:Q",
            scale=alt.Scale(domain=[0, 1], range=list(HEAT)),
            legend=alt.Legend(
                title=legend, format=".0%", orient="bottom", labelColor=_TEXT, titleColor=_TEXT, titleLimit=400
            ),
        ),
        tooltip=[
            alt.Tooltip("sign:N", title=_("Sign")),
            alt.Tooltip("photo:N", title=_("Photo")),
            alt.Tooltip("share:Q", title=_("Share"), format=".0%"),
            alt.Tooltip("n:Q", title=_("Answers")),
            alt.Tooltip("remark:N", title=_("Remark")),
        ],
    )
    numbers = base.mark_text(fontSize=12, color=_TEXT).encode(text="words:N")
    height = 28 * data["sign"].nunique() + 90
    st.html(f'<p class="ll-sideways">{escape(_("On a narrow screen, move the chart sideways."))}</p>')
    st.altair_chart((squares + numbers).properties(height=height, description=label), width="stretch")


def _in_cell(cell: MapCell) -> str:
    if cell.words is not None:
        return cell.words
    return "" if cell.share is None else f"{100 * cell.share:.0f}"


def shares(rows: Sequence[tuple[str, Share]], label: str, axis: str) -> None:
    """A bar with its interval for each row, and its number at the end."""
    data = pd.DataFrame(
        [
            {"what": name, "share": share.value, "low": share.low, "high": share.high, "words": share_words(share)}
            for name, share in rows
            if share.value is not None
        ]
    )
    if data.empty:
        st.info(_("There is nothing to compare yet."))
        return
    y = alt.Y("what:N", sort=list(data["what"]), title=None, axis=alt.Axis(labelLimit=480, labelColor=_TEXT))
    x = alt.X(
        "share:Q",
        title=axis,
        scale=alt.Scale(domain=[0, 1.35]),
        axis=alt.Axis(format=".0%", values=[0, 0.2, 0.4, 0.6, 0.8, 1], titleColor=_TEXT, labelColor=_TEXT),
    )
    told = [alt.Tooltip("what:N", title=_("What")), alt.Tooltip("words:N", title=_("Share"))]
    bars = alt.Chart(data).mark_bar(color="#9CC5C1", height=14).encode(x=x, y=y, tooltip=told)
    reach = alt.Chart(data).mark_rule(color=_TEAL, strokeWidth=2).encode(x="low:Q", x2="high:Q", y=y)
    number = alt.Chart(data).mark_text(align="left", dx=6, color=_TEXT).encode(x="high:Q", y=y, text="words:N")
    st.altair_chart((bars + reach + number).properties(height=28 * len(data) + 30, description=label), width="stretch")


def share_words(share: Share) -> str:
    """A share as "62 % (48 to 74)", or a dash."""
    if share.value is None or share.low is None or share.high is None:
        return "–"
    return _("{share:.0f} % ({low:.0f} to {high:.0f})").format(
        share=100 * share.value, low=100 * share.low, high=100 * share.high
    )


@dataclass(frozen=True, kw_only=True)
class LimitLine:
    """A line of the plot with its interval, in the unit of the readings; low and high None where there is none."""

    what: str
    at: float
    low: float | None
    high: float | None


def against_key(
    rows: Sequence[tuple[str, str, float, float]], lines: Sequence[LimitLine], label: str, unit: str
) -> None:
    """Bland and Altman's plot: (student, photo, mean of both, student minus key), with bias, limits and their intervals."""
    data = pd.DataFrame(rows, columns=["student", "photo", "mean", "difference"])
    low, high = float(data["mean"].min()), float(data["mean"].max())
    dots = (
        alt.Chart(data)
        .mark_point(color=_TEAL, size=36, opacity=0.7)
        .encode(
            x=alt.X(
                "mean:Q", title=_("mean of student and key ({unit})").format(unit=unit), scale=alt.Scale(zero=False)
            ),
            y=alt.Y("difference:Q", title=_("student minus key ({unit})").format(unit=unit)),
            tooltip=[
                alt.Tooltip("student:N", title=_("Student")),
                alt.Tooltip("photo:N", title=_("Photo")),
                alt.Tooltip("difference:Q", title=_("student minus key ({unit})").format(unit=unit), format="+.1f"),
            ],
        )
    )
    drawn = pd.DataFrame(
        [
            {"at": one.at, "what": f"{one.what} {one.at:+.1f}", "dash": one.what, "low": one.low, "high": one.high,
             "from": low, "to": high}
            for one in lines
        ]
    )  # fmt: skip
    bands = (
        alt.Chart(drawn.dropna(subset=["low", "high"]))
        .mark_rect(color="#9CC5C1", opacity=0.35)
        .encode(x="from:Q", x2="to:Q", y="low:Q", y2="high:Q")
    )
    rules = (
        alt.Chart(drawn)
        .mark_rule(color=_TEXT)
        .encode(y="at:Q", strokeDash=alt.StrokeDash("dash:N", legend=None, sort=[one.what for one in lines[:1]]))
    )
    words = (
        alt.Chart(drawn)
        .mark_text(align="left", dx=4, dy=-7, color=_TEXT)
        .encode(x=alt.value(0), y="at:Q", text="what:N")
    )
    chart = (bands + dots + rules + words).properties(height=320, description=label)
    st.altair_chart(chart.configure_axis(labelColor=_TEXT, titleColor=_TEXT), width="stretch")
