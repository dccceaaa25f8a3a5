"""Charts that can be read without colour: every mark carries its number, every chart has its table beside it."""

from collections.abc import Sequence

import altair as alt
import pandas as pd
import streamlit as st

from rubric.class_figures import Share

_TEXT = "#22313A"
_TEAL = "#1B6B72"


def heat_map(rows: Sequence[tuple[str, str, float | None, int, str]], label: str) -> None:
    """Signs by photos: (sign, photo, share that agrees or None, answers, remark), each cell with its percentage."""
    data = pd.DataFrame(rows, columns=["sign", "photo", "share", "answers", "remark"])
    data["percent"] = [
        remark or ("" if pd.isna(share) else f"{100 * share:.0f}")
        for share, remark in zip(data["share"], data["remark"], strict=True)
    ]
    order = sorted(set(data["photo"]), key=int)
    base = alt.Chart(data).encode(
        x=alt.X("photo:N", sort=order, title="photo", axis=alt.Axis(labelAngle=0, orient="top", labelColor=_TEXT)),
        y=alt.Y(
            "sign:N",
            sort=list(dict.fromkeys(data["sign"])),
            title=None,
            axis=alt.Axis(labelLimit=420, labelColor=_TEXT),
        ),
    )
    cells = base.mark_rect(stroke="white").encode(
        color=alt.Color(
            "share:Q",
            scale=alt.Scale(domain=[0, 1], range=["#F6E3C5", "#9CC5C1", "#1B6B72"]),
            legend=alt.Legend(title="agrees with the key", format=".0%"),
        ),
        tooltip=["sign:N", "photo:N", alt.Tooltip("share:Q", format=".0%"), "answers:Q"],
    )
    numbers = base.mark_text(fontSize=12).encode(
        text="percent:N", color=alt.condition("datum.share > 0.7", alt.value("white"), alt.value(_TEXT))
    )
    height = 28 * data["sign"].nunique() + 40
    st.altair_chart((cells + numbers).properties(height=height, description=label), width="stretch")


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
        st.info("There is nothing to compare yet.")
        return
    y = alt.Y("what:N", sort=list(data["what"]), title=None, axis=alt.Axis(labelLimit=420, labelColor=_TEXT))
    x = alt.X(
        "share:Q",
        title=axis,
        scale=alt.Scale(domain=[0, 1.2]),
        axis=alt.Axis(format=".0%", values=[0, 0.2, 0.4, 0.6, 0.8, 1]),
    )
    bars = alt.Chart(data).mark_bar(color="#9CC5C1", height=14).encode(x=x, y=y, tooltip=["what:N", "words:N"])
    reach = alt.Chart(data).mark_rule(color=_TEAL, strokeWidth=2).encode(x="low:Q", x2="high:Q", y=y)
    number = alt.Chart(data).mark_text(align="left", dx=6, color=_TEXT).encode(x="high:Q", y=y, text="words:N")
    st.altair_chart((bars + reach + number).properties(height=28 * len(data) + 30, description=label), width="stretch")


def share_words(share: Share) -> str:
    """A share as "62 % (48 to 74)", or a dash."""
    if share.value is None or share.low is None or share.high is None:
        return "–"
    return f"{100 * share.value:.0f} % ({100 * share.low:.0f} to {100 * share.high:.0f})"


def against_key(
    rows: Sequence[tuple[str, str, float, float]], bias: float, limits: tuple[float, float], label: str, unit: str
) -> None:
    """Bland and Altman's plot: (student, photo, mean of both, student minus key), with the bias and its limits."""
    data = pd.DataFrame(rows, columns=["student", "photo", "mean", "difference"])
    dots = (
        alt.Chart(data)
        .mark_point(color=_TEAL, size=36, opacity=0.7)
        .encode(
            x=alt.X("mean:Q", title=f"mean of student and key ({unit})", scale=alt.Scale(zero=False)),
            y=alt.Y("difference:Q", title=f"student minus key ({unit})"),
            tooltip=["student:N", "photo:N", alt.Tooltip("difference:Q", format="+.1f")],
        )
    )
    lines = pd.DataFrame(
        {
            "at": [bias, *limits],
            "what": [f"bias {bias:+.1f}", f"limit {limits[0]:+.1f}", f"limit {limits[1]:+.1f}"],
            "dash": ["bias", "limit", "limit"],
        }
    )
    rules = (
        alt.Chart(lines)
        .mark_rule(color=_TEXT)
        .encode(y="at:Q", strokeDash=alt.StrokeDash("dash:N", legend=None, sort=["bias", "limit"]))
    )
    words = (
        alt.Chart(lines)
        .mark_text(align="left", dx=4, dy=-6, color=_TEXT)
        .encode(x=alt.value(0), y="at:Q", text="what:N")
    )
    st.altair_chart((dots + rules + words).properties(height=320, description=label), width="stretch")
