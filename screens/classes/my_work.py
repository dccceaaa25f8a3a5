"""Class work as a student meets it: what is given, until when, how far one is, and one big next step."""

import streamlit as st

from records.classroom import assignments, class_work
from records.classroom.class_values import MyAssignment, MySlot, SlotState
from records.classroom.classes import leave, my_classes
from records.errors import RecordsError
from screens import look, places
from screens.classes import pieces as class_look
from screens.classes.feedback import begin, go_on
from screens.classes.words import ORDERS, in_words, when_it_is_due, when_the_key_comes
from screens.data import me, store
from screens.language import _, _n, said
from screens.local_time import day_words
from screens.to_top import to_top


def show() -> None:
    """Draw all class work, or the piece that the address names."""
    class_look.apply()
    asked = st.query_params.get("work")
    if asked:
        to_top(f"work {asked}")
        mine = assignments.my_assignment(store(), me(), asked)
        _one(mine, preview=st.query_params.get("preview") == "1")
        return
    st.title(_("Class work"))
    given = assignments.for_me(store(), me())
    if not given:
        look.lede(
            _("Nothing is given to you yet. When your instructor gives the class photos to work on, they stand here.")
        )
    for one in given:
        with st.container(border=True):
            summary(one)
    _classes()


def summary(mine: MyAssignment) -> None:
    """A piece of work in short: title, due date, how far, and the next step."""
    work = mine.assignment
    st.subheader(work.title)
    look.quiet(f"{mine.class_title}. {when_it_is_due(work, late_now=mine.late_now)}")
    _how_far(mine)
    with st.container(horizontal=True):
        if _begun(mine) and not mine.left_out:
            go_on(mine)
            if st.button(_("All photos"), key=f"open-{work.id}"):
                places.go("my-work", work=work.id)
        elif st.button(_("Open"), key=f"open-{work.id}", type="secondary" if mine.left_out else "primary"):
            places.go("my-work", work=work.id)


def _begun(mine: MyAssignment) -> bool:
    return any(slot.attempt_id or slot.state == SlotState.LEFT_OUT for slot in mine.slots)


def _how_far(mine: MyAssignment) -> None:
    n, done = len(mine.slots), mine.n_done
    if mine.left_out:
        look.quiet(_("You left this work out."))
    else:
        st.progress(done / n if n else 1.0, text=_("{done} of {n} photos are through").format(done=done, n=n))


def _one(mine: MyAssignment, *, preview: bool) -> None:
    work = mine.assignment
    st.title(work.title)
    look.quiet(f"{mine.class_title}. {when_it_is_due(work, late_now=mine.late_now)}")
    if preview:
        look.notice(_("Preview"), _("This is what a student sees. Nothing that you do here is saved or handed in."))
    if mine.left_out:
        _all_left_out(mine)
        return
    if not _begun(mine) and work.closed_at is None:
        _before_you_begin(mine, preview=preview)
    else:
        _how_far(mine)
        go_on(mine)
    _slots(mine, preview=preview)
    if _begun(mine) and work.closed_at is None and mine.n_done < len(mine.slots) and not preview:
        with st.expander(_("Leave the rest of this work out")):
            _leave_all(mine)


def _before_you_begin(mine: MyAssignment, *, preview: bool) -> None:
    work, n = mine.assignment, len(mine.slots)
    look.notice(
        _("Before you begin"),
        _(
            "The photos show babies at the breast, some of them perhaps real people who agreed to it, others dolls. If this "
            "touches something that you have lived, leave out a photo or all of the work, now or later. You need give no "
            "reason, none is kept, and your instructor is told only how many left something out, not who."
        ),
    )
    said = [
        _n("{n} photo, three to four minutes each.", "{n} photos, three to four minutes each.", n).format(n=n),
        _("{order}, then hand in.").format(order=_(ORDERS[work.order])),
        _("Points are placed a second time, blind, to learn how repeatably you click.") if work.places_twice else "",
        when_the_key_comes(work),
        _("What you do is saved at every step: you can close the page and go on later."),
    ]
    look.lede(" ".join(one for one in said if one))
    with st.container(horizontal=True):
        if preview:
            if st.button(_("Begin with photo 1"), type="primary", key="preview-begin"):
                places.go("practise", preview=work.id, slot="1")
            return
        go_on(mine)
        if st.button(_("Leave this work out"), key=f"leave-all-{work.id}"):
            class_work.leave_out(store(), me(), work.id)
            st.rerun()


def _leave_all(mine: MyAssignment) -> None:
    st.write(_("You need give no reason, and none is kept. What you handed in stays; you can take the rest in again."))
    if st.button(_("Leave the rest out"), key=f"leave-all-{mine.assignment.id}"):
        class_work.leave_out(store(), me(), mine.assignment.id)
        st.rerun()


def _all_left_out(mine: MyAssignment) -> None:
    look.lede(_("You left this work out. Nobody is told that it was you."))
    if mine.assignment.closed_at is None and st.button(_("Take it in again"), key=f"take-all-{mine.assignment.id}"):
        try:
            class_work.take_in_again(store(), me(), mine.assignment.id)
        except RecordsError as error:
            st.error(said(error))
            return
        st.rerun()


def _slots(mine: MyAssignment, *, preview: bool) -> None:
    st.subheader(_("Photos"))
    for slot in mine.slots:
        with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
            shape, words = in_words(slot.state)
            said = _("{state}, late").format(state=words) if slot.late and slot.state == SlotState.HANDED_IN else words
            notes = (
                _n("{n} comment", "{n} comments", slot.n_comments).format(n=slot.n_comments) if slot.n_comments else ""
            )
            again = _("photo {n} once more").format(n=slot.repeats) if slot.repeats else ""
            head = _("**Photo {n}** {shape} {state}").format(n=slot.slot, shape=shape, state=said)
            st.markdown(" · ".join(part for part in (head, notes, again) if part))
            if preview:
                if st.button(_("Look at it"), key=f"preview-{slot.slot}"):
                    places.go("practise", preview=mine.assignment.id, slot=str(slot.slot))
            else:
                _slot_buttons(mine, slot)


def _slot_buttons(mine: MyAssignment, slot: MySlot) -> None:
    work = mine.assignment
    with st.container(horizontal=True, width="content"):
        if slot.state in (SlotState.HANDED_IN, SlotState.HANDED_BACK) and st.button(
            _("Read"), key=f"read-{slot.slot}", help=_("Your work, comments, and the key once it is shown")
        ):
            places.go("feedback", attempt=slot.attempt_id or "")
        if work.closed_at is not None:
            return
        if slot.state == SlotState.LEFT_OUT and st.button(_("Take in again"), key=f"take-{slot.slot}"):
            try:
                class_work.take_in_again(store(), me(), work.id, slot.slot)
            except RecordsError as error:
                st.error(said(error))
                return
            st.rerun()
        words = {
            SlotState.NOT_BEGUN: _("Begin"),
            SlotState.BEGUN: _("Go on"),
            SlotState.HANDED_BACK: _("Try again"),
        }.get(slot.state)
        if words and st.button(words, key=f"slot-{slot.slot}"):
            begin(work.id, slot.slot)
        if slot.state in (SlotState.NOT_BEGUN, SlotState.BEGUN) and st.button(
            _("Leave out"), key=f"leave-{slot.slot}", help=_("No reason is asked; you can take it in again")
        ):
            class_work.leave_out(store(), me(), work.id, slot.slot)
            st.rerun()


def _classes() -> None:
    joined = my_classes(store(), me())
    st.subheader(_("Your classes"))
    if not joined:
        look.quiet(_("You belong to no class yet. Your instructor has a code with which you join."))
    for group in joined:
        with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
            st.markdown(
                _("**{title}**, kept until {day}").format(title=_plain(group.title), day=day_words(group.keep_until))
            )
            with st.popover(_("Leave the class")):
                st.write(_("What you handed in stays with the class until that day; what you began is not handed in."))
                if st.button(_("Leave it"), key=f"leave-class-{group.id}"):
                    leave(store(), me(), group.id)
                    st.rerun()
    look.way("/join", _("Join a class with a code"))


def _plain(text: str) -> str:
    """A person's text inside Markdown, with nothing in it that Markdown reads as its own."""
    return "".join(f"\\{c}" if c in "\\`*_{}[]()#+-.!|<>$~:" else c for c in text)
