"""The figures behind a review, by sign and by photo; each chart with its table."""

from collections.abc import Iterator

import numpy as np
import streamlit as st

from rubric.estimates import Agreement
from rubric.reports.tables import answer_words, item_words
from rubric.review.figures import GroupFigures
from rubric.review.table import CANT_TELL
from screens import look
from screens.data import checklist
from screens.language import N_, _
from screens.review.charts import MapCell, heat_map, share_words, shares
from screens.review.findings import photo_signs
from screens.review.work import ReviewedWork

#: What the coefficients of agreement are, wherever they are shown.
COEFFICIENTS = N_(
    "Kappa, AC1 and alpha tell how far people agree beyond what guessing alone would give: 1 is full agreement, 0 is "
    "what guessing gives. They reckon guessing in different ways, so they may lie apart where nearly everyone gives "
    "the same answer. In brackets: the range within which the value lies 95 times out of 100."
)
_AGREES, _CANT_TELL = N_("Agree with the key"), N_("Said can't tell")


def signs_and_photos(work: ReviewedWork) -> None:
    """The heat map, then signs and photos by how far the class splits."""
    review = work.review
    shown = (
        st.segmented_control(_("In each cell"), [_AGREES, _CANT_TELL], format_func=_, default=_AGREES, key="review-map")
        or _AGREES
    )
    cells = _agreement_cells(work) if shown == _AGREES else _cant_tell_cells(work)
    heat_map(cells, _("{shown}, by sign and photo").format(shown=_(shown)), legend=_(shown))
    if shown == _CANT_TELL:
        look.quiet(_("A star: the key cannot tell either. Where there is none, the key could."))
    with st.expander(_("Which photo is which")):
        look.listing(_("In the order of the work:"), (work.photo_name(photo) for photo in review.table.key.photos))
    with st.expander(_("The same as a table")):
        look.table(
            [_("Sign"), _("Photo"), _("Share"), _("Answers"), _("Remark")],
            [
                (c.sign, c.photo, "–" if c.share is None else f"{100 * c.share:.0f} %", str(c.n), c.remark)
                for c in cells
            ],
            _(shown),
        )
    _groups(_("Signs"), _("Sign"), review.items, [_(item_words(checklist(), item)) for item in review.table.key.items])
    _groups(_("Photos"), _("Photo"), review.photos, [work.photo_name(photo) for photo in review.table.key.photos])
    opened = st.selectbox(
        _("Open a photo, sign by sign"), list(work.slots), index=None, format_func=work.photo_name, placeholder=_("Choose a photo"),
        key="review-open-photo",
    )  # fmt: skip
    if opened is not None:
        photo_signs(work, opened)
    _among_students(work)


def _agreement_cells(work: ReviewedWork) -> list[MapCell]:
    shares = work.review.agreement_map
    parted = work.review.table.key.disputed
    return [
        MapCell(
            sign=sign,
            photo=photo,
            share=None if np.isnan(shares[p, i]) else float(shares[p, i]),
            n=n,
            remark=_("experts part") if parted[p, i] else "",
            words=_("parted") if parted[p, i] else None,
        )
        for sign, photo, p, i, n in _cells(work)
    ]


def _cant_tell_cells(work: ReviewedWork) -> list[MapCell]:
    table = work.review.table
    found = []
    for sign, photo, p, i, n in _cells(work):
        share = float(table.counts[p, i, CANT_TELL]) / n if n else None
        star = table.key.answers[p, i] == CANT_TELL
        words = "" if share is None else f"{100 * share:.0f}" + ("*" if star else "")
        remark = _("the key cannot tell") if star else ""
        found.append(MapCell(sign=sign, photo=photo, share=share, n=n, remark=remark, words=words))
    return found


def _cells(work: ReviewedWork) -> Iterator[tuple[str, str, int, int, int]]:
    """Sign, photo, their places, and how many answered, where the sign applies."""
    table = work.review.table
    for i, item in enumerate(table.key.items):
        for p, photo in enumerate(table.key.photos):
            if table.key.answers[p, i] >= 0:
                yield _(item_words(checklist(), item)), photo, p, i, int(table.counts[p, i].sum())


def _groups(title: str, one_of_them: str, groups: tuple[GroupFigures, ...], names: list[str]) -> None:
    st.subheader(title)
    told = sorted(
        zip(names, groups, strict=True), key=lambda one: 1.0 if one[1].agrees.value is None else one[1].agrees.value
    )
    shares(
        [(name, group.agrees) for name, group in told],
        _("{title}: agreement with the key").format(title=title),
        _("agree with the key"),
    )
    with st.expander(_("{title} as a table").format(title=title)):
        look.table(
            [
                one_of_them,
                _("Agree with the key"),
                _("Most given instead"),
                _("Said more than it shows"),
                _("Can't tell though the key can"),
            ],
            [
                (
                    name,
                    share_words(group.agrees),
                    _(answer_words(group.most_given_instead) or "–"),
                    share_words(group.over_claimed),
                    share_words(group.under_claimed),
                )
                for name, group in told
            ],
            title,
        )


def _among_students(work: ReviewedWork) -> None:
    st.subheader(_("How far students agree with each other"))
    names = [_(item_words(checklist(), item)) for item in work.review.table.key.items]
    rows = [(_("All signs"), work.review.among_students), *zip(names, work.review.by_item, strict=True)]
    look.table(
        [_("Sign"), _("Kappa"), _("Gwet's AC1"), _("Remark")],
        [(name, agreement_words(both.kappa), agreement_words(both.ac1), _(both.note)) for name, both in rows],
        _("Agreement among students"),
    )
    look.quiet(_("Krippendorff's alpha over all signs: {alpha}.").format(alpha=agreement_words(work.review.alpha)))
    look.quiet(_(COEFFICIENTS))


def agreement_words(one: Agreement) -> str:
    """A coefficient with its interval, or why there is none."""
    if one.value is None:
        return _(one.reason or "–")
    ends = one.interval(0.95)
    if ends.low is None or ends.high is None:
        return _two(one.value)
    return _("{value} ({low} to {high})").format(value=_two(one.value), low=_two(ends.low), high=_two(ends.high))


def _two(value: float) -> str:
    return f"{round(value, 2) + 0.0:.2f}"
