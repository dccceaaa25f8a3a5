"""One piece of work as whoever runs the class sees it: how far everyone is, the key, and what to read first."""

from datetime import time

import streamlit as st

from records.classroom import assignments
from records.classroom.class_values import AssignmentRecord, Progress, SlotState
from records.classroom.class_work import answers_of
from records.errors import RecordsError
from records.key.panel_keys import parted_by_slot
from screens import look, places
from screens.classes import pieces as class_look
from screens.classes.naming import names_shown, names_switch
from screens.classes.words import KEY_RULES_INSIDE, ORDERS, STATES, moment
from screens.data import checklist, me, store
from screens.language import _
from screens.local_time import here, moment_here, now_here
from screens.review.reading_order import Reading, Sorted, readings
from screens.sets import sharing as set_sharing
from screens.to_top import to_top

#: How many pieces of work the list shows at once; the rest follows as these are done.
SHOWN = 20

SORTED_WORDS = {
    Sorted.MOST_DIFFERENT: "Most different from the key first",
    Sorted.NOT_LOOKED_AT: "Not looked at yet first",
}
REVIEW_WORDS = {None: "not looked at", "looked_at": "looked at", "handed_back": "handed back", "done": "done"}


def show() -> None:
    """Draw the work that the address names."""
    class_look.apply()
    asked = st.query_params.get("work")
    if not asked:
        places.go("classes")
    with_names = names_shown()
    progress = assignments.progress_of(store(), me(), asked or "", with_names=with_names)
    work = progress.assignment
    to_top(f"given {work.id}")
    st.title(work.title)
    _facts(work)
    _buttons(work)
    st.subheader("How far the class is")
    names_switch()
    _grid(progress)
    _to_read(work, with_names=with_names)
    if st.button("Back to the class"):
        places.go("class", id=work.class_id)


def _facts(work: AssignmentRecord) -> None:
    due = "No due date" if work.due_at is None else f"Due {moment(work.due_at)}"
    closed = f" Closed on {moment(work.closed_at)}." if work.closed_at else ""
    twice = " Points placed twice." if work.places_twice else ""
    look.quiet(f"{due}. {ORDERS[work.order]}.{twice}{closed}")
    look.quiet(
        f"The key is open since {moment(work.key_opened_at)}."
        if work.key_opened_at
        else f"Students see the key {KEY_RULES_INSIDE[work.key_rule]}."
    )


def _buttons(work: AssignmentRecord) -> None:
    with st.container(horizontal=True):
        if st.button("Review the answers", type="primary"):
            places.go("review", work=work.id)
        if st.button("See it as a student"):
            places.go("my-work", work=work.id, preview="1")
        if work.key_opened_at is None:
            with st.popover("Open the key"):
                st.write("Everyone sees the key to what he or she handed in. It cannot be hidden again.")
                if st.button("Open the key now", type="primary"):
                    assignments.open_key(store(), me(), work.id)
                    st.rerun()
        if work.closed_at is None:
            with st.popover("Close"):
                st.write(
                    "Nothing more can be begun, changed or handed in. What was saved stays, and you can open it again."
                )
                if st.button("Close this work"):
                    assignments.close(store(), me(), work.id)
                    st.rerun()
        elif st.button("Open the work again"):
            assignments.reopen(store(), me(), work.id)
            st.rerun()
        with st.popover("Due date"):
            _due(work)
        with st.popover(_("On paper")):
            set_sharing.worksheets(work.version_id)


def _due(work: AssignmentRecord) -> None:
    before = here(work.due_at) if work.due_at else None
    today = now_here().date()
    has = st.checkbox("There is a due date", value=before is not None, key=f"has-due-{work.id}")
    day = st.date_input("Due on", value=max(before.date(), today) if before else today, min_value=today)
    at = st.time_input("at", value=before.time() if before else time(18, 0))
    if st.button("Save the due date"):
        try:
            assignments.change_due(store(), me(), work.id, moment_here(day, at) if has else None)
        except RecordsError as error:
            st.error(str(error))
            return
        st.rerun()


def _grid(progress: Progress) -> None:
    if not progress.students:
        look.quiet("Nobody has joined this class yet.")
        return
    head = ["Student", *(f"{slot}{'×' if slot in progress.removed else ''}" for slot in _slots(progress))]
    rows = [
        (
            (line.handle or line.label) + (" (has left)" if line.left_class else ""),
            [(*STATES[line.states[slot]], slot in line.late) for slot in _slots(progress)],
        )
        for line in progress.students
    ]
    class_look.grid(head, rows, "How far each student is, photo by photo")
    shown = [SlotState.NOT_BEGUN, SlotState.BEGUN, SlotState.HANDED_IN, SlotState.HANDED_BACK]
    class_look.legend([STATES[state] for state in [*shown, *([SlotState.REMOVED] if progress.removed else [])]])
    if progress.repeat is not None:
        first, second = progress.repeat
        look.quiet(f"Photo {second} is photo {first} once more; students are told when they are through.")
    if progress.left_out:
        said = [f"photo {slot}: {n}" if slot else f"all of it: {n}" for slot, n in progress.left_out.items()]
        look.quiet(f"Left out, {', '.join(said)}. Who it was is shown to nobody.")


def _slots(progress: Progress) -> range:
    return range(1, progress.assignment.n_slots + 1)


def _to_read(work: AssignmentRecord, *, with_names: bool) -> None:
    st.subheader("Work to read")
    answers = answers_of(store(), me(), work.id, with_names=with_names)
    if not answers.submissions:
        look.quiet("Nothing is handed in yet.")
        return
    with st.container(horizontal=True, vertical_alignment="bottom"):
        order: Sorted = st.radio(
            "Order",
            [Sorted.MOST_DIFFERENT, Sorted.NOT_LOOKED_AT],
            format_func=SORTED_WORDS.__getitem__,
            horizontal=True,
        )
        slot = st.selectbox(
            "Photo",
            [slot.slot for slot in answers.slots],
            index=None,
            placeholder="All photos",
            format_func=lambda number: f"Photo {number}: {answers.slots[number - 1].title or 'no longer here'}",
        )
    parted = parted_by_slot(store(), me(), work.id)
    found = readings(answers, checklist(), order, slot=slot, parted=parted)
    to_do = [one for one in found if one.submission.review != "done"]
    look.quiet(f"{len(found)} handed in, {len(found) - len(to_do)} of them done.")
    for one in found[:SHOWN]:
        _line(one)
    if len(found) > SHOWN:
        look.quiet(f"{len(found) - SHOWN} more follow; choose a photo to see fewer at once.")


def _line(one: Reading) -> None:
    work = one.submission
    apart = f"apart from the key at {one.n_apart} of {one.n_signs} signs" if one.n_signs else "no key"
    again = f", try {work.try_number}" if work.try_number > 1 else ""
    late = ", late" if work.late else ""
    with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
        look.item(
            f"{one.handle or one.label}, photo {work.slot}{again}", f"{apart} · {REVIEW_WORDS[work.review]}{late}"
        )
        if st.button("Read", key=f"read-{work.attempt_id}"):
            places.go("submission", attempt=work.attempt_id)
