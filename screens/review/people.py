"""The figures of each student, and of the experts who read the photos."""

import streamlit as st

from rubric.agreement import KappaAndAc1
from rubric.reports.tables import answer_words, item_words
from screens import look, places
from screens.data import checklist
from screens.language import _
from screens.review.charts import share_words
from screens.review.peers import same_as_others
from screens.review.tables import COEFFICIENTS, agreement_words
from screens.review.work import ReviewedWork


def students(work: ReviewedWork) -> None:
    """Each student's figures, in no ranking."""
    st.toggle(_("Show names"), key="names-of-students", help=_("Otherwise students stand here by number."))
    look.quiet(_("In the order in which they joined. This is no ranking, and nothing here is shown to other students."))
    look.table(
        [
            _("Student"),
            _("Answered"),
            _("Agree with the key"),
            _("Say what the others say"),
            _("Said more than it shows"),
            _("Can't tell though the key can"),
        ],
        [
            (
                work.student_name(one.student),
                _("{answered} of {asked}").format(answered=one.answered, asked=one.asked),
                share_words(one.agrees),
                "–" if alike is None else f"{100 * alike:.0f} %",
                share_words(one.over_claimed),
                share_words(one.under_claimed),
            )
            for one, alike in zip(work.review.students, same_as_others(work.review.table), strict=True)
        ],
        _("Students"),
    )
    _read(work)
    change = work.review.change
    if change is not None:
        st.subheader(_("What the second look changed"))
        net = change.net
        look.quiet(
            _(
                "{towards} answers went to the key, {away} left it, {other} changed otherwise, of {compared}. "
                "On balance {balance:+.1f} % of a student's answers ({low:+.1f} to {high:+.1f} "
                "%)."
            ).format(
                towards=int(change.towards.sum()),
                away=int(change.away.sum()),
                other=int(change.other.sum()),
                compared=int(change.compared.sum()),
                balance=100 * float(net.value[0]),
                low=100 * float(net.low[0]),
                high=100 * float(net.high[0]),
            )
        )


def _read(work: ReviewedWork) -> None:
    """The way to one student's work on one photo."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        labels = [one.student for one in work.review.students]
        label = st.selectbox(_("Read the work of"), labels, format_func=work.student_name, key="review-read-student")
        done = [photo for photo in work.slots if label is not None and work.attempt_of(label, photo) is not None]
        photo = st.selectbox(_("on"), done, format_func=work.photo_name, key="review-read-photo")
        if st.button(_("Open it"), disabled=photo is None, type="primary") and label is not None and photo is not None:
            places.go("submission", attempt=work.attempt_of(label, photo) or "")


def experts(work: ReviewedWork) -> None:
    """How far those agree who read the photos for the key."""
    panel = work.panel
    if panel is None:
        st.info(_("No photo of this work was read by two experts, so how sure the key is cannot be told."))
        return
    both: KappaAndAc1 = panel.beyond_chance
    look.quiet(
        _("{n} experts. They agree in {share} of pairs of answers; beyond chance: kappa {kappa}, AC1 {ac1}.").format(
            n=len(panel.experts),
            share=agreement_words(panel.percent),
            kappa=agreement_words(both.kappa),
            ac1=agreement_words(both.ac1),
        )
    )
    look.quiet(_(COEFFICIENTS))
    parted = [one for one in panel.items if not one.agreed]
    if not parted:
        look.quiet(_("They part on nothing."))
        return
    look.quiet(_("Where they part nobody is compared with the key:"))
    look.table(
        [_("Photo"), _("Sign"), _("Answers")],
        [
            (
                work.photo_name(one.photo),
                _(item_words(checklist(), one.item)),
                ", ".join(_(answer_words(answer) or "–") for answer in one.answers.values()),
            )
            for one in parted
        ],
        _("Where experts part"),
    )
