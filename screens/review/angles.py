"""Angles of a class beside the key's: bias and limits with their intervals, and which way each student reads."""

import numpy as np
import streamlit as st

from rubric.agreement import bland_altman
from rubric.estimates import Agreement
from rubric.evidence import measure_heading, plain_name
from rubric.review.angles import AngleTable
from rubric.review.figures import Bias
from screens import look
from screens.language import _
from screens.review.charts import LimitLine, against_key
from screens.review.work import ReviewedWork

_UNITS = {"deg": "°"}


def show(work: ReviewedWork) -> None:
    """Each angle of the class against the key's, then each student's bias."""
    for bias in work.review.class_angles:
        st.subheader(_(measure_heading(bias.measure)))
        _against(work, bias)
    look.quiet(
        _(
            "Plus means wider, or more than the key. A deep attachment hides the corner of the mouth, so the gapes that could be "
            "measured over-represent shallow ones."
        )
    )
    st.subheader(_("Each student's own"))
    by_name = {table.name: table for table in work.angles}
    own: dict[str, dict[str, str]] = {label: {} for label in work.review.table.students}
    for one in work.review.student_angles:
        if one.student is not None:
            own[one.student][one.measure] = _own_words(one, by_name[one.measure])
    look.table(
        [_("Student"), *(_(measure_heading(name)) for name in by_name)],
        [(work.student_name(label), *(told.get(name, "–") for name in by_name)) for label, told in own.items()],
        _("Each student's mean difference"),
    )
    look.quiet(_("Which way, then by how much on average with its 95 % interval, and from how many readings."))


def _own_words(bias: Bias, table: AngleTable) -> str:
    if bias.value is None:
        return "–"
    return f"{which_way(bias, table)}; {bias_words(bias)}, {bias.n}"


def bias_words(bias: Bias) -> str:
    """By how much, with its interval."""
    if bias.value is None:
        return _(bias.reason or "–")
    if bias.low is None or bias.high is None:
        return f"{signed(bias.value)}°"
    return _("{value}° ({low} to {high})").format(
        value=signed(bias.value), low=signed(bias.low), high=signed(bias.high)
    )


def signed(value: float, decimals: int = 1) -> str:
    """A number with its sign, and none for what rounds to 0.

    >>> signed(2.04), signed(-0.04), signed(-12.6, 0)
    ('+2.0', '0.0', '−13')
    """
    rounded = round(value, decimals) + 0.0
    words = f"{abs(rounded):.{decimals}f}"
    return words if rounded == 0 else ("+" if rounded > 0 else "−") + words


def which_way(bias: Bias, table: AngleTable) -> str:
    """Whether a student reads to one side of the key: "always" only where every reading lies there.

    A side is told only where the whole interval of the mean lies on it.
    """
    if bias.student is None or bias.low is None or bias.high is None:
        return "–"
    own = table.difference[table.students.index(bias.student)]
    own = own[~np.isnan(own)]
    more, less = (_("wide"), _("narrow")) if bias.measure == "gape_angle" else (_("large"), _("small"))
    if bias.low > 0:
        return _side(more, int((own > 0).sum()), len(own))
    if bias.high < 0:
        return _side(less, int((own < 0).sum()), len(own))
    return _("no one way")


def _side(word: str, n_there: int, n: int) -> str:
    return (
        _("always {word}").format(word=word)
        if n_there == n
        else _("mostly {word}: {n_there} of {n}").format(word=word, n_there=n_there, n=n)
    )


def limit_lines(table: AngleTable) -> tuple[LimitLine, ...]:
    """Bias and limits of agreement over all readings, each with its 95 % interval; empty with fewer than two readings."""
    both = np.argwhere(~np.isnan(table.difference))
    found = bland_altman([[table.values[s, p], table.key[p]] for s, p in both])
    named = ((_("mean difference"), found.bias), (_("upper limit"), found.upper), (_("lower limit"), found.lower))
    if found.sd is None:
        return ()
    return tuple(_line(what, one) for what, one in named)


def _line(what: str, one: Agreement) -> LimitLine:
    ends = one.interval(0.95)
    return LimitLine(what=what, at=one.value or 0.0, low=ends.low, high=ends.high)


def _against(work: ReviewedWork, bias: Bias) -> None:
    table = next(one for one in work.angles if one.name == bias.measure)
    lines = limit_lines(table)
    if bias.value is None or not lines:
        look.quiet(_("Nothing to tell: {why}.").format(why=_(bias.reason) if bias.reason else _("too few readings")))
        return
    unit = _UNITS.get(bias.unit, bias.unit)
    rows = [
        (
            work.student_name(table.students[s]),
            work.photo_name(table.photos[p]),
            float(table.values[s, p] + table.key[p]) / 2,
            float(table.difference[s, p]),
        )
        for s, p in np.argwhere(~np.isnan(table.difference))
    ]
    against_key(rows, lines, _("{measure}: class against key").format(measure=_(plain_name(bias.measure))), unit)
    _bias, upper, lower = lines
    look.quiet(
        _(
            "The class reads {bias} off the key. About 95 % of single readings lie between "
            "{low} and {high} of it ({n} readings). Shaded: how sure mean and limits "
            "are."
        ).format(bias=bias_words(bias), low=_with_ends(lower), high=_with_ends(upper), n=bias.n)
    )
    with st.expander(_("The same as a table, photo by photo")):
        _by_photo(work, table)


def _with_ends(line: LimitLine) -> str:
    if line.low is None or line.high is None:
        return f"{signed(line.at, 0)}°"
    return _("{value}° ({low} to {high})").format(
        value=signed(line.at, 0), low=signed(line.low, 0), high=signed(line.high, 0)
    )


def _by_photo(work: ReviewedWork, table: AngleTable) -> None:
    rows = []
    for at, photo in enumerate(table.photos):
        off = table.difference[:, at]
        off = off[~np.isnan(off)]
        if len(off):
            ends = _("{low}° to {high}°").format(low=signed(off.min(), 0), high=signed(off.max(), 0))
            rows.append(
                (work.photo_name(photo), f"{table.key[at]:.0f}°", str(len(off)), f"{signed(off.mean())}°", ends)
            )
    look.table(
        [_("Photo"), _("Key"), _("Readings"), _("Mean difference"), _("From the key, all")],
        rows,
        _(plain_name(table.name)),
    )
