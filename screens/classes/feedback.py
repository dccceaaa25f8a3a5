"""On the feedback on class work: the way to the next photo, and what is still to come."""

import streamlit as st

from records.attempt.attempt_values import ClassPlace
from records.classroom import assignments, class_work
from records.classroom.class_values import MyAssignment, SlotState
from records.errors import RecordsError
from screens import look, places
from screens.data import me, store


def next_in_class(place: ClassPlace) -> None:
    """How far the work is, and one big next step."""
    try:
        mine = assignments.my_assignment(store(), me(), place.assignment_id)
    except RecordsError:
        # Someone who has left the class keeps the own scores.
        return
    slot = next((one for one in mine.slots if one.slot == place.slot), None)
    look.quiet(f"{place.title}: {mine.n_done} of {len(mine.slots)} photos are through.")
    if slot is not None and slot.repeats is not None:
        look.quiet(f"This was photo {slot.repeats} once more: so you can see how alike you score the same photo.")
    if slot is not None and slot.state == SlotState.HANDED_BACK:
        look.notice(
            "Your instructor gave this photo back",
            "You may score it once more. What you handed in before is kept.",
        )
    go_on(mine, here=place.slot)


def go_on(mine: MyAssignment, *, here: int = 0) -> None:
    """The button that leads to the next photo, or the word that all is through."""
    upcoming = mine.next_slot
    if upcoming is None:
        if mine.assignment.closed_at is None and not mine.left_out:
            look.quiet("You are through with this work.")
        return
    if upcoming.state == SlotState.HANDED_BACK:
        words = "Try this photo again" if upcoming.slot == here else f"Try photo {upcoming.slot} again"
    elif upcoming.state == SlotState.BEGUN:
        words = f"Go on with photo {upcoming.slot}"
    else:
        words = f"Next photo: {upcoming.slot} of {len(mine.slots)}" if mine.n_done else "Begin with photo 1"
    if st.button(words, type="primary", key=f"next-{mine.assignment.id}"):
        begin(mine.assignment.id, upcoming.slot)


def begin(assignment_id: str, slot: int) -> None:
    """Open a place of class work, or say why not."""
    try:
        attempt = class_work.start_slot(store(), me(), assignment_id, slot)
    except RecordsError as error:
        st.error(str(error))
        return
    places.go("practise", attempt=attempt.id)
