"""One student's work on one photo as an instructor reads it: beside the key, with comments, another try, done."""

import streamlit as st

from records.attempt.handing_in import HandedIn
from records.classroom import reviews
from records.classroom.class_work import answers_of
from records.classroom.reviews import Comment, ReviewState, WorkToReview
from records.errors import RecordsError
from records.key.panel_keys import parted_by_slot
from screens import look, places
from screens.classes import pieces as class_look
from screens.classes.naming import names_shown
from screens.classes.words import moment
from screens.data import checklist, me, store
from screens.language import N_, _, _n, said
from screens.practice import beside_key
from screens.review.reading_order import Sorted, readings
from screens.to_top import to_top
from screens.words import shown_label
from vision.landmarks import LANDMARK_NAMES

_STATE_WORDS = {
    None: N_("Not looked at yet"),
    ReviewState.LOOKED_AT: N_("Looked at"),
    ReviewState.HANDED_BACK: N_("Handed back for another try"),
    ReviewState.DONE: N_("Done"),
}


def show() -> None:
    """Draw the work that the address names."""
    class_look.apply()
    asked = st.query_params.get("attempt")
    if not asked:
        places.go("classes")
    read = reviews.work_to_review(store(), me(), asked or "", with_names=names_shown())
    to_top(f"submission {asked}")
    if read.review.state is None:
        read = _mark(read, ReviewState.LOOKED_AT) or read
    _head(read)
    comments = reviews.comments_on(store(), me(), read.work.attempt_id)
    _buttons(read)
    _body(read, comments)


def _head(read: WorkToReview) -> None:
    place = read.work.place
    where = _("photo {slot} of {n_slots}").format(slot=place.slot, n_slots=place.n_slots) if place else _("photo")
    st.title(f"{read.handle or shown_label(read.label)}, {where}")
    text = (
        _("Handed in late, on {when}, {minutes} after beginning.")
        if read.late
        else _("Handed in on {when}, {minutes} after beginning.")
    )
    parts = [
        f"{place.title}." if place else "",
        text.format(when=moment(read.work.handed_in_at), minutes=_minutes(read.work)),
        _("Try {n}.").format(n=place.try_number) if place and place.try_number > 1 else "",
        f"{_(_STATE_WORDS[read.review.state])}.",
    ]
    look.quiet(" ".join(part for part in parts if part))
    others = {number: one for number, one in read.tries.items() if one != read.work.attempt_id}
    with st.container(horizontal=True):
        for number, attempt_id in others.items():
            if st.button(_("Read try {number}").format(number=number), key=f"try-{attempt_id}"):
                places.go("submission", attempt=attempt_id)


def _minutes(work: HandedIn) -> str:
    minutes = round((work.handed_in_at - work.started_at).total_seconds() / 60)
    return f"{minutes} minute{'' if minutes == 1 else 's'}"


def _mark(read: WorkToReview, state: ReviewState) -> WorkToReview | None:
    """Set the state; None where someone else went on with the review, which is then said."""
    try:
        reviews.set_state(store(), me(), read.work.attempt_id, state, expected_revision=read.review.revision)
    except RecordsError as error:
        st.error(said(error))
        return None
    return reviews.work_to_review(store(), me(), read.work.attempt_id, with_names=names_shown())


def _buttons(read: WorkToReview) -> None:
    with st.container(horizontal=True):
        if read.review.state != ReviewState.DONE:
            if st.button(_("Done, and on to the next"), type="primary") and _mark(read, ReviewState.DONE):
                _next(read)
        elif st.button(_("Next to read"), type="primary"):
            _next(read)
        if read.review.state != ReviewState.HANDED_BACK and read.work.photo_id is not None:
            with st.popover(_("Hand back")):
                st.write(_("The student may score this photo once more. This try is kept. Write a comment first: why."))
                if st.button(_("Hand it back")):
                    _hand_back(read)
        if read.work.place and st.button(_("All work to read")):
            places.go("given", work=read.work.place.assignment_id)


def _hand_back(read: WorkToReview) -> None:
    try:
        reviews.hand_back(store(), me(), read.work.attempt_id, expected_revision=read.review.revision)
    except RecordsError as error:
        st.error(said(error))
        return
    st.rerun()


def _next(read: WorkToReview) -> None:
    place = read.work.place
    if place is None:
        return
    answers = answers_of(store(), me(), place.assignment_id)
    parted = parted_by_slot(store(), me(), place.assignment_id)
    left = [
        one.submission.attempt_id
        for one in readings(answers, checklist(), Sorted.MOST_DIFFERENT, parted=parted)
        if one.submission.review not in ("done", "handed_back") and one.submission.attempt_id != read.work.attempt_id
    ]
    if left:
        places.go("submission", attempt=left[0])
    places.go("given", work=place.assignment_id)


def _body(read: WorkToReview, comments: tuple[Comment, ...]) -> None:
    work = read.work
    if work.photo_id is None:
        look.notice(
            _("The picture is gone"), _("Its consent ended or it was removed. The scores stay, without the picture.")
        )
    if work.photo_id is None or read.key is None:
        _general(read, comments)
        beside_key.answers_only(work, beside_key.REVIEWER)
        return
    photo = beside_key.photo_of(work)
    result = beside_key.compared(work, read.key, photo, beside_key.REVIEWER)
    look.quiet(
        _n(
            "Both answered {n} sign; {same} the same.", "Both answered {n} signs; {same} the same.", result.n_compared
        ).format(n=result.n_compared, same=result.n_same)
    )
    signs = {entry.item.id for entry in result.items}
    _general(read, tuple(one for one in comments if one.item_id not in signs))
    beside_key.side_by_side(
        work,
        read.key,
        photo,
        result,
        beside_key.REVIEWER,
        comments=comments,
        below_sign=lambda item_id: _comment_on_sign(read, item_id, comments),
    )


def _general(read: WorkToReview, comments: tuple[Comment, ...]) -> None:
    for one in comments:
        beside_key.show_comments([one], name_signs=True)
        _take_back(one)
    placed = read.work.landmarks[1].points if 1 in read.work.landmarks else {}
    with st.expander(_("Comment on this work, or on a point")):
        point = st.selectbox(
            _("About"),
            list(placed),
            index=None,
            placeholder=_("the work as a whole"),
            format_func=lambda name: _("the point {point}").format(point=_(LANDMARK_NAMES[name])),
            key=f"point-{read.work.attempt_id}",
        )
        _write(read, f"general-{point}", landmark_id=point)


def _comment_on_sign(read: WorkToReview, item_id: str, comments: tuple[Comment, ...]) -> None:
    for one in comments:
        if one.item_id == item_id:
            _take_back(one)
    with st.popover(_("Comment")):
        _write(read, item_id, item_id=item_id)


def _take_back(one: Comment) -> None:
    if one.mine and st.button(_("Take this comment back"), key=f"take-back-{one.id}", type="tertiary"):
        reviews.remove_comment(store(), me(), one.id)
        st.rerun()


def _write(read: WorkToReview, name: str, *, item_id: str | None = None, landmark_id: str | None = None) -> None:
    attempt_id = read.work.attempt_id
    with st.form(f"comment-{attempt_id}-{name}", border=False, clear_on_submit=True):
        text = st.text_area(_("The student sees it at once"), max_chars=2000, key=f"text-{attempt_id}-{name}")
        if st.form_submit_button(_("Add the comment")):
            try:
                reviews.add_comment(store(), me(), attempt_id, text, item_id=item_id, landmark_id=landmark_id)
            except RecordsError as error:
                st.error(said(error))
                return
            st.rerun()
