"""The review of what a class handed in: what stands out first, then the figures behind it."""

from collections.abc import Callable

import streamlit as st

from rubric.class_review import Rate, TeachingPoint
from rubric.evidence import plain_name
from rubric.reports.tables import item_words
from screens import class_look, look, places, review_points, review_tables
from screens.data import checklist, me, store
from screens.review_work import ReviewedWork, reviewed
from screens.to_top import to_top

_STANDS_OUT = "What stands out"
_NOTHING = (
    "Nothing stands out beyond what chance does in a class of this size. That is no finding that all is seen alike: the "
    "figures are under the other headings."
)


def show() -> None:
    """Draw the review that the address names."""
    class_look.apply()
    asked = st.query_params.get("work")
    if not asked:
        places.go("classes")
    work = reviewed(
        store(), me(), asked or "", checklist(), with_names=st.session_state.get("names-of-students", False)
    )
    to_top(f"review {work.assignment.id}")
    st.title(f"Review: {work.assignment.title}")
    _how_far(work)
    parts: dict[str, Callable[[ReviewedWork], None]] = {
        _STANDS_OUT: _stands_out,
        "Signs and photos": review_tables.signs_and_photos,
        "Angles": review_tables.angles,
        "Points on the photos": review_points.show,
        "Students": review_tables.students,
        "Experts": review_tables.experts,
    }
    chosen = st.segmented_control("Show", list(parts), default=_STANDS_OUT, key="review-part")
    parts[chosen or _STANDS_OUT](work)
    _reports(work)
    with st.container(horizontal=True):
        if st.button("Show the class's answers on the projector"):
            places.go("projector", work=work.assignment.id)
        if st.button("Back to the work"):
            places.go("given", work=work.assignment.id)


def _how_far(work: ReviewedWork) -> None:
    n_students, n_photos = len(work.answers.students), len(work.slots)
    done = len({(one.student, one.slot) for one in work.answers.latest() if str(one.slot) in work.slots})
    all_of_it = n_students * n_photos
    look.quiet(f"{work.answers.class_title}. {n_students} students, {n_photos} photos.")
    st.progress(done / all_of_it if all_of_it else 0.0, text=f"{done} of {all_of_it} handed in")
    claimed = work.review.over_claiming
    look.quiet(
        f"Said more than the photo shows: {_rate(claimed)}. Said “can't tell” where the key can: "
        f"{_rate(work.review.under_claiming)}."
    )
    if work.review.n_disputed:
        n = work.review.n_disputed
        look.quiet(f"Experts part on {n} answer{'s' if n > 1 else ''} of the key: shown below, compared with nobody.")


def _rate(rate: Rate) -> str:
    if rate.value is None:
        return "nothing to tell yet"
    between = "" if rate.low is None or rate.high is None else f" ({100 * rate.low:.0f} to {100 * rate.high:.0f} %)"
    return f"{100 * rate.value:.0f} % of {rate.n} answers{between}"


def _stands_out(work: ReviewedWork) -> None:
    if not work.review.points:
        st.info(_NOTHING)
    for number, point in enumerate(work.review.points):
        with st.container(border=True):
            _point(work, point, number)
    look.quiet(
        "Only what is larger than chance is listed: in 19 of 20 classes in which nothing is to be found, nothing stands here. "
        "A deep attachment hides the corner of the mouth, so the gapes that could be measured over-represent shallow ones."
    )


def _point(work: ReviewedWork, point: TeachingPoint, number: int) -> None:
    look.item(heading(work, point), f"{point.text} {_sentence(point.interval)}".strip())
    if not point.photos:
        return
    look.quiet("To teach it next, show:")
    for shown, column in zip(point.photos, st.columns(3), strict=False):
        with column:
            slot = work.slots[shown.photo]
            if slot.photo_id is not None:
                look.card_picture(f"/photos/{slot.photo_id}/thumbnail.jpg", work.photo_name(shown.photo))
            look.card_text(work.photo_name(shown.photo), _look_at(shown.item))
            if st.button("Open on the projector", key=f"show-{number}-{shown.photo}", width="stretch"):
                places.go("projector", work=work.assignment.id, photo=shown.photo, sign=shown.item or "")


def _look_at(item: str | None) -> list[str]:
    return [] if item is None else [f"look at: {item_words(checklist(), item)}"]


def _sentence(interval: str) -> str:
    return f"95 % interval {interval}." if interval else ""


def heading(work: ReviewedWork, point: TeachingPoint) -> str:
    """What a finding is about, in words."""
    found = point.finding
    about = [
        item_words(checklist(), found.item) if found.item else "",
        work.photo_name(found.photo) if found.photo else "",
        work.student_name(found.student) if found.student else "",
        plain_name(found.measure) if found.measure else "",
    ]
    said = ", ".join(part for part in about if part)
    return said[:1].upper() + said[1:] if said else "The class as a whole"


def _reports(work: ReviewedWork) -> None:
    with st.expander("Save as a report"):
        named = "?names=1" if st.session_state.get("names-of-students", False) else ""
        look.quiet("The same figures as on this page, with students by number unless names are shown.")
        for ending, words in (("pdf", "PDF"), ("xlsx", "spreadsheet (XLSX)"), ("csv", "text table (CSV)")):
            look.download(f"/reports/class/{work.assignment.id}/report.{ending}{named}", f"Save as {words}")
