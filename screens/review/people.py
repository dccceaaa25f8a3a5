"""The figures of each student, and of the experts who read the photos."""

import streamlit as st

from rubric.agreement import KappaAndAc1
from rubric.reports.tables import answer_words, item_words
from screens import look, places
from screens.data import checklist
from screens.review.charts import share_words
from screens.review.peers import same_as_others
from screens.review.tables import agreement_words
from screens.review.work import ReviewedWork


def students(work: ReviewedWork) -> None:
    """Each student's figures, in no ranking."""
    st.toggle("Show names", key="names-of-students", help="Otherwise students stand here by number.")
    look.quiet("In the order in which they joined. This is no ranking, and nothing here is shown to other students.")
    look.table(
        [
            "Student",
            "Answered",
            "Agree with the key",
            "Say what the others say",
            "Said more than it shows",
            "Can't tell though the key can",
        ],
        [
            (
                work.student_name(one.student),
                f"{one.answered} of {one.asked}",
                share_words(one.agrees),
                "–" if alike is None else f"{100 * alike:.0f} %",
                share_words(one.over_claimed),
                share_words(one.under_claimed),
            )
            for one, alike in zip(work.review.students, same_as_others(work.review.table), strict=True)
        ],
        "Students",
    )
    _read(work)
    change = work.review.change
    if change is not None:
        st.subheader("What the second look changed")
        net = change.net
        look.quiet(
            f"{int(change.towards.sum())} answers went to the key, {int(change.away.sum())} left it, {int(change.other.sum())} "
            f"changed otherwise, of {int(change.compared.sum())}. On balance {100 * float(net.value[0]):+.1f} % of a student's "
            f"answers ({100 * float(net.low[0]):+.1f} to {100 * float(net.high[0]):+.1f} %)."
        )


def _read(work: ReviewedWork) -> None:
    """The way to one student's work on one photo."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        labels = [one.student for one in work.review.students]
        label = st.selectbox("Read the work of", labels, format_func=work.student_name, key="review-read-student")
        done = [photo for photo in work.slots if label is not None and work.attempt_of(label, photo) is not None]
        photo = st.selectbox("on", done, format_func=work.photo_name, key="review-read-photo")
        if st.button("Open it", disabled=photo is None, type="primary") and label is not None and photo is not None:
            places.go("submission", attempt=work.attempt_of(label, photo) or "")


def experts(work: ReviewedWork) -> None:
    """How far those agree who read the photos for the key."""
    panel = work.panel
    if panel is None:
        st.info("No photo of this work was read by two experts, so how sure the key is cannot be told.")
        return
    both: KappaAndAc1 = panel.beyond_chance
    look.quiet(
        f"{len(panel.experts)} experts. They agree in {agreement_words(panel.percent)} of pairs of answers; beyond chance: "
        f"kappa {agreement_words(both.kappa)}, AC1 {agreement_words(both.ac1)}."
    )
    parted = [one for one in panel.items if not one.agreed]
    if not parted:
        look.quiet("They part on nothing.")
        return
    look.quiet("Where they part nobody is compared with the key:")
    look.table(
        ["Photo", "Sign", "Answers"],
        [
            (
                work.photo_name(one.photo),
                item_words(checklist(), one.item),
                ", ".join(answer_words(answer) or "–" for answer in one.answers.values()),
            )
            for one in parted
        ],
        "Where experts part",
    )
