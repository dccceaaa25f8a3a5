"""The review of what a class handed in: what stands out first, then the figures behind it."""

from collections.abc import Callable
from pathlib import Path

import streamlit as st

from records.classroom.example_class import example_class_of
from rubric.review.whole import Rate
from screens import look, places
from screens.classes import pieces as class_look
from screens.data import checklist, me, store
from screens.language import N_, _, _n
from screens.review import angles as review_angles
from screens.review import findings as review_findings
from screens.review import people as review_people
from screens.review import points as review_points
from screens.review import report_routes
from screens.review import tables as review_tables
from screens.review.work import ReviewedWork, reviewed
from screens.to_top import to_top

_STANDS_OUT = N_("What stands out")
_CSS = Path(__file__).with_name("page.css")


def show() -> None:
    """Draw the review that the address names."""
    class_look.apply()
    st.html(_CSS)
    asked = st.query_params.get("work")
    if not asked:
        places.go("classes")
    work = reviewed(
        store(), me(), asked or "", checklist(), with_names=st.session_state.get("names-of-students", False)
    )
    to_top(f"review {work.assignment.id}")
    st.title(_("Review: {title}").format(title=work.assignment.title))
    example = example_class_of(store(), me())
    if example is not None and example.class_id == work.assignment.class_id:
        look.notice(
            _("An example"), _("All students and all answers here are invented, so that you see what a review shows.")
        )
    _how_far(work)
    parts: dict[str, Callable[[ReviewedWork], None]] = {
        _STANDS_OUT: review_findings.show,
        N_("Signs and photos"): review_tables.signs_and_photos,
        N_("Angles"): review_angles.show,
        N_("Points on the photos"): review_points.show,
        N_("Students"): review_people.students,
        N_("Experts"): review_people.experts,
    }
    chosen = st.segmented_control(_("Show"), list(parts), format_func=_, default=_STANDS_OUT, key="review-part")
    parts[chosen or _STANDS_OUT](work)
    _reports(work)
    with st.container(horizontal=True):
        if st.button(_("Show the class's answers on the projector")):
            places.go("projector", work=work.assignment.id)
        if st.button(_("Back to the work")):
            places.go("given", work=work.assignment.id)


def _how_far(work: ReviewedWork) -> None:
    n_students, n_photos = len(work.answers.students), len(work.slots)
    done = len({(one.student, one.slot) for one in work.answers.latest() if str(one.slot) in work.slots})
    all_of_it = n_students * n_photos
    look.quiet(
        _("{class_title}. {n_students} students, {n_photos} photos.").format(
            class_title=work.answers.class_title, n_students=n_students, n_photos=n_photos
        )
    )
    st.progress(
        done / all_of_it if all_of_it else 0.0,
        text=_("{done} of {total} handed in").format(done=done, total=all_of_it),
    )
    claimed = work.review.over_claiming
    look.quiet(
        _("Said more than the photo shows: {rate}. Said “can't tell” where the key can: {rate_2}.").format(
            rate=_rate(claimed), rate_2=_rate(work.review.under_claiming)
        )
    )
    if work.review.n_disputed:
        n = work.review.n_disputed
        look.quiet(
            _n(
                "Experts part on {n} answer of the key: shown below, compared with nobody.",
                "Experts part on {n} answers of the key: shown below, compared with nobody.",
                n,
            ).format(n=n)
        )


def _rate(rate: Rate) -> str:
    if rate.value is None:
        return _("nothing to tell yet")
    if rate.low is None or rate.high is None:
        return _("{share:.0f} % of {n} answers").format(share=100 * rate.value, n=rate.n)
    return _("{share:.0f} % of {n} answers ({low:.0f} to {high:.0f} %)").format(
        share=100 * rate.value, n=rate.n, low=100 * rate.low, high=100 * rate.high
    )


def _reports(work: ReviewedWork) -> None:
    with st.expander(_("Save as a report")):
        named = "?names=1" if st.session_state.get("names-of-students", False) else ""
        look.quiet(_("The same figures as on this page, with students by number unless names are shown."))
        report_routes.offer(f"/reports/class/{work.assignment.id}/report.{{ending}}{named}")
