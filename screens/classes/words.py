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
from screens.local_time import here

ORDERS = {
    Order.SCORE_FIRST: "Score by eye, measure, score again",
    Order.MEASURE_FIRST: "Measure first, then score",
}
KEY_RULES = {
    KeyRule.AFTER_EACH: "After each photo that a student hands in",
    KeyRule.AFTER_DUE: "After the due date",
    KeyRule.WHEN_OPENED: "When I open it",
}
#: The same within a sentence to the instructor.
KEY_RULES_INSIDE = {
    KeyRule.AFTER_EACH: "after each photo that is handed in",
    KeyRule.AFTER_DUE: "after the due date",
    KeyRule.WHEN_OPENED: "when you open it",
}
#: A shape and words for each state, so that colour says nothing alone.
STATES = {
    SlotState.NOT_BEGUN: ("○", "not begun"),
    SlotState.BEGUN: ("◐", "begun"),
    SlotState.HANDED_IN: ("●", "handed in"),
    SlotState.HANDED_BACK: ("↺", "came back for another try"),
    SlotState.LEFT_OUT: ("–", "left out"),
    SlotState.REMOVED: ("×", "photo no longer here"),
}


def moment(at: datetime) -> str:
    """A moment as people read it, in their own time."""
    return f"{here(at):%A %d %B %Y, %H:%M}"


def when_the_key_comes(work: AssignmentRecord) -> str:
    """One sentence for students."""
    if work.key_opened_at is not None or work.key_rule == KeyRule.AFTER_EACH:
        return "You see how the reference key reads a photo after you have handed it in."
    if work.key_rule == KeyRule.AFTER_DUE and work.due_at is not None:
        return f"You see how the reference key reads the photos after {moment(work.due_at)}."
    return "You see how the reference key reads the photos when your instructor opens it."


def when_it_is_due(work: AssignmentRecord, *, late_now: bool) -> str:
    """One sentence for students."""
    if work.closed_at is not None:
        return f"Closed on {moment(work.closed_at)}."
    if work.due_at is None:
        return "No due date."
    if late_now:
        return f"Was due {moment(work.due_at)}. You may still hand in; it is marked as late."
    return f"Due {moment(work.due_at)}."


def under_the_title(place: ClassPlace, *, preview: bool) -> None:
    """Which work this is."""
    again = f" Try {place.try_number}: the earlier one is kept." if place.try_number > 1 else ""
    look.quiet(f"{place.title}.{again}")
    if preview:
        look.notice("Preview", "This is what a student sees. Nothing that you do here is saved or handed in.")


def way_out(place: ClassPlace, *, preview: bool) -> None:
    """Back to the overview, and leaving this photo out."""
    row = st.container(horizontal=True, horizontal_alignment="center")
    if row.button("All photos of this work"):
        places.go("my-work", work=place.assignment_id, **({"preview": "1"} if preview else {}))
    if preview:
        return
    with row.popover("Leave this photo out"):
        st.write("You need give no reason, and none is kept. What you saved stays; you can take the photo in again.")
        if st.button("Leave it out", key="leave-out-here"):
            try:
                class_work.leave_out(store(), me(), place.assignment_id, place.slot)
            except RecordsError as error:
                st.error(str(error))
                return
            st.session_state.pop("working", None)
            places.go("my-work", work=place.assignment_id)
