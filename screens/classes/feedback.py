"""On the feedback on class work: the way to the next photo, and what is still to come."""

import streamlit as st

from records.attempt.attempt_values import ClassPlace
from records.classroom import assignments, class_work
from records.classroom.class_values import MyAssignment, SlotState
from records.errors import RecordsError
from screens import look, places
from screens.data import me, store
from screens.language import _, said


def next_in_class(place: ClassPlace) -> None:
    """How far the work is, and one big next step."""
    try:
        mine = assignments.my_assignment(store(), me(), place.assignment_id)
    except RecordsError:
        # Someone who has left the class keeps the own scores.
        return
    slot = next((one for one in mine.slots if one.slot == place.slot), None)
    look.quiet(
        _("{title}: {n_done} of {n} photos are through.").format(
            title=place.title, n_done=mine.n_done, n=len(mine.slots)
        )
    )
    if slot is not None and slot.repeats is not None:
        look.quiet(
            _("This was photo {photo} once more: so you can see how alike you score the same photo.").format(
                photo=slot.repeats
            )
        )
    if slot is not None and slot.state == SlotState.HANDED_BACK:
        look.notice(
            _("Your instructor gave this photo back"),
            _("You may score it once more. What you handed in before is kept."),
        )
    go_on(mine, here=place.slot)


def go_on(mine: MyAssignment, *, here: int = 0) -> None:
    """The button that leads to the next photo, or the word that all is through."""
    upcoming = mine.next_slot
    if upcoming is None:
        if mine.assignment.closed_at is None and not mine.left_out:
            look.quiet(_("You are through with this work."))
        return
    if upcoming.state == SlotState.HANDED_BACK:
        words = (
            _("Try this photo again")
            if upcoming.slot == here
            else _("Try photo {slot} again").format(slot=upcoming.slot)
        )
    elif upcoming.state == SlotState.BEGUN:
        words = _("Go on with photo {slot}").format(slot=upcoming.slot)
    else:
        words = (
            _("Next photo: {slot} of {n}").format(slot=upcoming.slot, n=len(mine.slots))
            if mine.n_done
            else _("Begin with photo 1")
        )
    if st.button(words, type="primary", key=f"next-{mine.assignment.id}"):
        begin(mine.assignment.id, upcoming.slot)


def begin(assignment_id: str, slot: int) -> None:
    """Open a place of class work, or say why not."""
    try:
        attempt = class_work.start_slot(store(), me(), assignment_id, slot)
    except RecordsError as error:
        st.error(said(error))
        return
    places.go("practise", attempt=attempt.id)
