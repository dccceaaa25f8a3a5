"""The figures behind a review: signs and photos, angles, students, experts; each chart with its table."""

import numpy as np
import streamlit as st

from rubric.agreement import KappaAndAc1
from rubric.class_figures import Bias, GroupFigures
from rubric.estimates import Agreement
from rubric.evidence import plain_name
from rubric.reports.tables import answer_words, item_words
from screens import look
from screens.data import checklist
from screens.review_charts import against_key, heat_map, share_words, shares
from screens.review_work import ReviewedWork


def signs_and_photos(work: ReviewedWork) -> None:
    """The heat map, then signs and photos by how far the class splits."""
    st.subheader("How often answers agree with the key, in percent")
    review = work.review
    key = review.table.key
    rows = [
        (
            item_words(checklist(), item),
            photo,
            None if np.isnan(review.agreement_map[p, i]) else float(review.agreement_map[p, i]),
            int(review.table.counts[p, i].sum()),
            "experts part" if key.disputed[p, i] else "",
        )
        for i, item in enumerate(key.items)
        for p, photo in enumerate(key.photos)
        if key.answers[p, i] >= 0
    ]
    heat_map(rows, "Share of answers that agree with the key, by sign and photo")
    look.quiet(
        "Photos stand in the order of the work: " + "; ".join(work.photo_name(photo) for photo in key.photos) + "."
    )
    with st.expander("The same as a table"):
        look.table(
            ["Sign", "Photo", "Agree", "Answers", "Remark"],
            [(s, p, "–" if v is None else f"{100 * v:.0f} %", str(n), r) for s, p, v, n, r in rows],
            "Agreement with the key",
        )
    _groups("Signs", review.items, [item_words(checklist(), item) for item in key.items])
    _groups("Photos", review.photos, [work.photo_name(photo) for photo in key.photos])
    _among_students(work)


def _groups(title: str, groups: tuple[GroupFigures, ...], names: list[str]) -> None:
    st.subheader(title)
    told = sorted(
        zip(names, groups, strict=True), key=lambda one: 1.0 if one[1].agrees.value is None else one[1].agrees.value
    )
    shares([(name, group.agrees) for name, group in told], f"{title}: agreement with the key", "agree with the key")
    with st.expander(f"{title} as a table"):
        look.table(
            [
                title[:-1],
                "Agree with the key",
                "Most given instead",
                "Said more than it shows",
                "Can't tell though the key can",
            ],
            [
                (
                    name,
                    share_words(group.agrees),
                    answer_words(group.most_given_instead) or "–",
                    share_words(group.over_claimed),
                    share_words(group.under_claimed),
                )
                for name, group in told
            ],
            title,
        )


def _among_students(work: ReviewedWork) -> None:
    st.subheader("How far students agree with each other")
    names = [item_words(checklist(), item) for item in work.review.table.key.items]
    rows = [("All signs", work.review.among_students), *zip(names, work.review.by_item, strict=True)]
    look.table(
        ["Sign", "Fleiss' kappa", "Gwet's AC1", "Remark"],
        [(name, agreement_words(both.kappa), agreement_words(both.ac1), both.note) for name, both in rows],
        "Agreement among students",
    )
    look.quiet(f"Krippendorff's alpha over all signs: {agreement_words(work.review.alpha)}.")


def agreement_words(one: Agreement) -> str:
    """A coefficient with its interval, or why there is none."""
    if one.value is None:
        return one.reason or "–"
    ends = one.interval(0.95)
    if ends.low is None or ends.high is None:
        return f"{one.value:.2f}"
    return f"{one.value:.2f} ({ends.low:.2f} to {ends.high:.2f})"


def angles(work: ReviewedWork) -> None:
    """Each angle of the class against the key's, then each student's bias."""
    for bias in work.review.class_angles:
        st.subheader(plain_name(bias.measure).capitalize())
        _against(work, bias)
    look.quiet(
        "Plus means wider, or more than the key. A deep attachment hides the corner of the mouth, so the gapes that could be "
        "measured over-represent shallow ones."
    )
    st.subheader("Each student's own")
    look.table(
        ["Student", "Angle", "Reads off by", "Readings"],
        [
            (work.student_name(one.student or ""), plain_name(one.measure), bias_words(one), str(one.n))
            for one in work.review.student_angles
        ],
        "Each student's bias",
    )


def bias_words(bias: Bias) -> str:
    """By how much, with its interval."""
    if bias.value is None:
        return bias.reason or "–"
    if bias.low is None or bias.high is None:
        return f"{bias.value:+.1f}°"
    return f"{bias.value:+.1f}° ({bias.low:+.1f} to {bias.high:+.1f})"


def _against(work: ReviewedWork, bias: Bias) -> None:
    table = next(one for one in work.angles if one.name == bias.measure)
    if bias.value is None or bias.limits is None:
        look.quiet(f"Nothing to tell: {bias.reason or 'too few readings'}.")
        return
    both = np.argwhere(~np.isnan(table.difference))
    rows = [
        (
            work.student_name(table.students[s]),
            work.photo_name(table.photos[p]),
            float(table.values[s, p] + table.key[p]) / 2,
            float(table.difference[s, p]),
        )
        for s, p in both
    ]
    against_key(rows, bias.value, bias.limits, f"{bias.measure}: class against key", bias.unit)
    look.quiet(
        f"The class reads {bias_words(bias)} off the key; 95 % of single readings lie between {bias.limits[0]:+.0f}° and "
        f"{bias.limits[1]:+.0f}° of it ({bias.n} readings)."
    )


def students(work: ReviewedWork) -> None:
    """Each student's figures, in no ranking."""
    st.toggle("Show names", key="names-of-students", help="Otherwise students stand here by number.")
    look.quiet("In the order in which they joined. This is no ranking, and nothing here is shown to other students.")
    look.table(
        ["Student", "Answered", "Agree with the key", "Said more than it shows", "Can't tell though the key can"],
        [
            (
                work.student_name(one.student),
                f"{one.answered} of {one.asked}",
                share_words(one.agrees),
                share_words(one.over_claimed),
                share_words(one.under_claimed),
            )
            for one in work.review.students
        ],
        "Students",
    )
    change = work.review.change
    if change is not None:
        st.subheader("What the second look changed")
        net = change.net
        look.quiet(
            f"{int(change.towards.sum())} answers went to the key, {int(change.away.sum())} left it, {int(change.other.sum())} "
            f"changed otherwise, of {int(change.compared.sum())}. On balance {100 * float(net.value[0]):+.1f} % of a student's "
            f"answers ({100 * float(net.low[0]):+.1f} to {100 * float(net.high[0]):+.1f} %)."
        )


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
