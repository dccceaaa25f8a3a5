"""Before and after: first look against second, and this work against photos that the class had not seen. Sums only."""

from dataclasses import dataclass

import numpy as np
import streamlit as st

from records.classroom.assignments import list_assignments
from rubric.review.figures import Share
from rubric.review.table import CANT_TELL, FEWEST_TOLD
from screens import look
from screens.data import checklist, me, store
from screens.language import _
from screens.review.charts import share_words
from screens.review.work import ReviewedWork, reviewed, without_names


@dataclass(frozen=True, kw_only=True)
class Summed:
    """What a class answered over some photos, in sums; `agrees` and `over_claimed` are empty for fewer than five students."""

    n_students: int
    n_photos: int
    agrees: Share
    over_claimed: Share


def show(work: ReviewedWork) -> None:
    """Draw it."""
    change = work.review.change
    if n_students_in(work) < FEWEST_TOLD:
        look.quiet(_("Shown from {n} students on, so that nobody's answers can be guessed.").format(n=FEWEST_TOLD))
        return
    if change is None:
        look.quiet(_("There was one look only, so there is no before and after in this work."))
    else:
        look.quiet(
            _(
                "From the first look to the second {towards} answers went to the key and {away} left it, of {compared}."
            ).format(
                towards=int(change.towards.sum()), away=int(change.away.sum()), compared=int(change.compared.sum())
            )
        )
    others = [one for one in list_assignments(store(), me(), work.assignment.class_id) if one.id != work.assignment.id]
    if not others:
        look.quiet(_("Give the class another set with photos that it has not seen, and it can be compared here."))
        return
    chosen = st.selectbox(
        _("Compare with other work of this class"), others, format_func=lambda one: one.title, index=None,
        placeholder=_("Choose the work on photos not seen before"), key="projector-other",
    )  # fmt: skip
    if chosen is not None:
        _compared(work, without_names(reviewed(store(), me(), chosen.id, checklist())))


def n_students_in(work: ReviewedWork) -> int:
    """How many students handed in anything that counts."""
    return len({one.student for one in work.answers.latest() if str(one.slot) in work.slots})


def unseen(work: ReviewedWork, other: ReviewedWork) -> list[str]:
    """The photos of the other work that are not in this one; one that is gone is taken as seen."""
    here = {slot.photo_id for slot in work.slots.values()}
    return [photo for photo, slot in other.slots.items() if slot.photo_id is not None and slot.photo_id not in here]


def summed(work: ReviewedWork, photos: list[str]) -> Summed:
    """The class's answers to these photos."""
    table = work.review.table
    rows = np.isin(table.key.photos, photos)
    compared, differs = table.compared[:, rows], table.differs[:, rows]
    cannot = compared & (table.key.answers[rows] == CANT_TELL)
    n = int((table.answers[:, rows] >= 0).any(axis=(1, 2)).sum())
    if n < FEWEST_TOLD:
        nothing = Share(count=0, n=0)
        return Summed(n_students=n, n_photos=len(photos), agrees=nothing, over_claimed=nothing)
    return Summed(
        n_students=n,
        n_photos=len(photos),
        agrees=Share(count=int((compared & ~differs).sum()), n=int(compared.sum())),
        over_claimed=Share(count=int(table.over_claimed[:, rows].sum()), n=int(cannot.sum())),
    )


def _compared(work: ReviewedWork, other: ReviewedWork) -> None:
    new = unseen(work, other)
    if not new:
        look.quiet(
            _("All photos of that work are in this one too; the comparison needs photos that the class had not seen.")
        )
        return
    parts = ((work.assignment.title, summed(work, list(work.slots))), (other.assignment.title, summed(other, new)))
    look.table(
        [_("Work"), _("From"), _("Agree with the key"), _("Said more than the photo shows")],
        [(title, _from(one), share_words(one.agrees), share_words(one.over_claimed)) for title, one in parts],
        _("Before and after"),
    )
    look.quiet(
        _("Photos differ in how hard they are, so a difference between two works is a hint, not a measure of learning.")
    )


def _from(one: Summed) -> str:
    text = (
        _("{n_students} students, {n_photos} photos")
        if one.n_students >= FEWEST_TOLD
        else _("{n_students} students, {n_photos} photos; shown from {fewest} students on")
    )
    return text.format(n_students=one.n_students, n_photos=one.n_photos, fewest=FEWEST_TOLD)
