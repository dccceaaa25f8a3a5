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
from screens.classes.words import KEY_RULES_INSIDE, ORDERS, in_words, moment
from screens.data import checklist, me, store
from screens.language import N_, _, said
from screens.local_time import here, moment_here, now_here
from screens.review.reading_order import Reading, Sorted, readings
from screens.samples import shown_title
from screens.sets import sharing as set_sharing
from screens.to_top import to_top
from screens.words import shown_label

#: How many pieces of work the list shows at once; the rest follows as these are done.
SHOWN = 20

SORTED_WORDS = {
    Sorted.MOST_DIFFERENT: N_("Most different from the key first"),
    Sorted.NOT_LOOKED_AT: N_("Not looked at yet first"),
}
REVIEW_WORDS = {
    None: N_("not looked at"),
    "looked_at": N_("looked at"),
    "handed_back": N_("handed back"),
    "done": N_("done"),
}


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
    st.subheader(_("How far the class is"))
    names_switch()
    _grid(progress)
    _to_read(work, with_names=with_names)
    if st.button(_("Back to the class")):
        places.go("class", id=work.class_id)


def _facts(work: AssignmentRecord) -> None:
    due = _("No due date") if work.due_at is None else _("Due {when}").format(when=moment(work.due_at))
    closed = _("Closed on {when}.").format(when=moment(work.closed_at)) if work.closed_at else ""
    twice = _("Points placed twice.") if work.places_twice else ""
    look.quiet(" ".join(part for part in (f"{due}.", f"{_(ORDERS[work.order])}.", twice, closed) if part))
    look.quiet(
        _("The key is open since {when}.").format(when=moment(work.key_opened_at))
        if work.key_opened_at
        else _("Students see the key {when}.").format(when=_(KEY_RULES_INSIDE[work.key_rule]))
    )


def _buttons(work: AssignmentRecord) -> None:
    with st.container(horizontal=True):
        if st.button(_("Review the answers"), type="primary"):
            places.go("review", work=work.id)
        if st.button(_("See it as a student")):
            places.go("my-work", work=work.id, preview="1")
        if work.key_opened_at is None:
            with st.popover(_("Open the key")):
                st.write(_("Students see the key to what they handed in. It cannot be hidden again."))
                if st.button(_("Open the key now"), type="primary"):
                    assignments.open_key(store(), me(), work.id)
                    st.rerun()
        if work.closed_at is None:
            with st.popover(_("Close")):
                st.write(
                    _(
                        "Nothing more can be begun, changed or handed in. What was saved stays, and you can open it again."
                    )
                )
                if st.button(_("Close this work")):
                    assignments.close(store(), me(), work.id)
                    st.rerun()
        elif st.button(_("Open the work again")):
            assignments.reopen(store(), me(), work.id)
            st.rerun()
        with st.popover(_("Due date")):
            _due(work)
        with st.popover(_("On paper")):
            set_sharing.worksheets(work.version_id)


def _due(work: AssignmentRecord) -> None:
    before = here(work.due_at) if work.due_at else None
    today = now_here().date()
    has = st.checkbox(_("There is a due date"), value=before is not None, key=f"has-due-{work.id}")
    day = st.date_input(_("Due on"), value=max(before.date(), today) if before else today, min_value=today)
    at = st.time_input(_("at"), value=before.time() if before else time(18, 0))
    if st.button(_("Save the due date")):
        try:
            assignments.change_due(store(), me(), work.id, moment_here(day, at) if has else None)
        except RecordsError as error:
            st.error(said(error))
            return
        st.rerun()


def _grid(progress: Progress) -> None:
    if not progress.students:
        look.quiet(_("Nobody has joined this class yet."))
        return
    head = [_("Student"), *(f"{slot}{'×' if slot in progress.removed else ''}" for slot in _slots(progress))]
    rows = [
        (
            _("{student} (has left)").format(student=line.handle or shown_label(line.label))
            if line.left_class
            else line.handle or shown_label(line.label),
            [(*in_words(line.states[slot]), slot in line.late) for slot in _slots(progress)],
        )
        for line in progress.students
    ]
    class_look.grid(head, rows, _("How far each student is, photo by photo"))
    shown = [SlotState.NOT_BEGUN, SlotState.BEGUN, SlotState.HANDED_IN, SlotState.HANDED_BACK]
    class_look.legend([in_words(state) for state in [*shown, *([SlotState.REMOVED] if progress.removed else [])]])
    if progress.repeat is not None:
        first, second = progress.repeat
        look.quiet(
            _("Photo {second} is photo {first} once more; students are told when they are through.").format(
                second=second, first=first
            )
        )
    if progress.left_out:
        said = [
            _("photo {slot}: {n}").format(slot=slot, n=n) if slot else _("all of it: {n}").format(n=n)
            for slot, n in progress.left_out.items()
        ]
        look.quiet(_("Left out, {photos}. Who it was is shown to nobody.").format(photos=", ".join(said)))


def _slots(progress: Progress) -> range:
    return range(1, progress.assignment.n_slots + 1)


def _to_read(work: AssignmentRecord, *, with_names: bool) -> None:
    st.subheader(_("Work to read"))
    answers = answers_of(store(), me(), work.id, with_names=with_names)
    if not answers.submissions:
        look.quiet(_("Nothing is handed in yet."))
        return
    with st.container(horizontal=True, vertical_alignment="bottom"):
        order: Sorted = st.radio(
            _("Order"),
            [Sorted.MOST_DIFFERENT, Sorted.NOT_LOOKED_AT],
            format_func=lambda order: _(SORTED_WORDS[order]),
            horizontal=True,
        )
        slot = st.selectbox(
            _("Photo"),
            [slot.slot for slot in answers.slots],
            index=None,
            placeholder=_("All photos"),
            format_func=lambda number: _("Photo {number}: {title}").format(
                number=number, title=shown_title(answers.slots[number - 1].title or "") or _("no longer here")
            ),
        )
    parted = parted_by_slot(store(), me(), work.id)
    found = readings(answers, checklist(), order, slot=slot, parted=parted)
    to_do = [one for one in found if one.submission.review != "done"]
    look.quiet(_("{n} handed in, {n_done} of them done.").format(n=len(found), n_done=len(found) - len(to_do)))
    for one in found[:SHOWN]:
        _line(one)
    if len(found) > SHOWN:
        look.quiet(_("{n} more follow; choose a photo to see fewer at once.").format(n=len(found) - SHOWN))


def _line(one: Reading) -> None:
    work = one.submission
    apart = (
        _("apart from the key at {n_apart} of {n_signs} signs").format(n_apart=one.n_apart, n_signs=one.n_signs)
        if one.n_signs
        else _("no key")
    )
    name, slot, again = one.handle or shown_label(one.label), work.slot, work.try_number
    title = (
        _("{student}, photo {slot}, try {n}").format(student=name, slot=slot, n=again)
        if again > 1
        else _("{student}, photo {slot}").format(student=name, slot=slot)
    )
    facts = [apart, _(REVIEW_WORDS[work.review]), *([_("late")] if work.late else [])]
    with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
        look.item(title, " · ".join(facts))
        if st.button(_("Read"), key=f"read-{work.attempt_id}"):
            places.go("submission", attempt=work.attempt_id)
