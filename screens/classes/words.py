"""What the pages of class work say alike: when the key is shown, when work is due, and the way out."""

from datetime import datetime

import streamlit as st

from records.attempt.attempt_values import ClassPlace
from records.attempt.attempts import Order
from records.classroom import class_work
from records.classroom.class_values import AssignmentRecord, KeyRule, SlotState
from records.errors import RecordsError
from screens import look, places
from screens.data import me, store
from screens.language import N_, _, said
from screens.local_time import moment_words

ORDERS = {
    Order.SCORE_FIRST: N_("Score by eye, measure, score again"),
    Order.MEASURE_FIRST: N_("Measure first, then score"),
}
KEY_RULES = {
    KeyRule.AFTER_EACH: N_("After each photo that a student hands in"),
    KeyRule.AFTER_DUE: N_("After the due date"),
    KeyRule.WHEN_OPENED: N_("When I open it"),
}
#: The same within a sentence to the instructor.
KEY_RULES_INSIDE = {
    KeyRule.AFTER_EACH: N_("after each photo that is handed in"),
    KeyRule.AFTER_DUE: N_("after the due date"),
    KeyRule.WHEN_OPENED: N_("when you open it"),
}
#: A shape and words for each state, so that colour says nothing alone.
STATES = {
    SlotState.NOT_BEGUN: ("○", N_("not begun")),
    SlotState.BEGUN: ("◐", N_("begun")),
    SlotState.HANDED_IN: ("●", N_("handed in")),
    SlotState.HANDED_BACK: ("↺", N_("came back for another try")),
    SlotState.LEFT_OUT: ("–", N_("left out")),
    SlotState.REMOVED: ("×", N_("photo no longer here")),
}


def in_words(state: SlotState) -> tuple[str, str]:
    """The shape of a state, and its words in the language of the page."""
    shape, said = STATES[state]
    return shape, _(said)


def moment(at: datetime) -> str:
    """A moment as people read it, in their own time."""
    return moment_words(at, weekday=True)


def when_the_key_comes(work: AssignmentRecord) -> str:
    """One sentence for students."""
    if work.key_opened_at is not None or work.key_rule == KeyRule.AFTER_EACH:
        return _("You see how the key reads a photo after you have handed it in.")
    if work.key_rule == KeyRule.AFTER_DUE and work.due_at is not None:
        return _("You see how the key reads the photos after {when}.").format(when=moment(work.due_at))
    return _("You see how the key reads the photos when your instructor opens it.")


def when_it_is_due(work: AssignmentRecord, *, late_now: bool) -> str:
    """One sentence for students."""
    if work.closed_at is not None:
        return _("Closed on {when}.").format(when=moment(work.closed_at))
    if work.due_at is None:
        return _("No due date.")
    if late_now:
        return _("Was due {when}. You may still hand in; it is marked as late.").format(when=moment(work.due_at))
    return _("Due {when}.").format(when=moment(work.due_at))


def under_the_title(place: ClassPlace, *, preview: bool) -> None:
    """Which work this is."""
    again = _("Try {n}: the earlier one is kept.").format(n=place.try_number) if place.try_number > 1 else ""
    look.quiet(" ".join(part for part in (f"{place.title}.", again) if part))
    if preview:
        look.notice(_("Preview"), _("This is what a student sees. Nothing that you do here is saved or handed in."))


def way_out(place: ClassPlace, *, preview: bool) -> None:
    """Back to the overview, and leaving this photo out."""
    row = st.container(horizontal=True, horizontal_alignment="center")
    if row.button(_("All photos of this work")):
        places.go("my-work", work=place.assignment_id, **({"preview": "1"} if preview else {}))
    if preview:
        return
    with row.popover(_("Leave this photo out")):
        st.write(_("You need give no reason, and none is kept. What you saved stays; you can take the photo in again."))
        if st.button(_("Leave it out"), key="leave-out-here"):
            try:
                class_work.leave_out(store(), me(), place.assignment_id, place.slot)
            except RecordsError as error:
                st.error(said(error))
                return
            st.session_state.pop("working", None)
            places.go("my-work", work=place.assignment_id)
