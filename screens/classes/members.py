"""Who belongs to a class: the code with which one joins, new passwords, taking someone out."""

import streamlit as st

from records.classroom import classes
from records.classroom.class_values import ClassRecord, MemberRecord, Part
from records.errors import RecordsError
from records.identity import accounts, join_codes
from screens import look
from screens.classes import pieces as class_look
from screens.classes.words import moment
from screens.data import me, store
from screens.language import _, said


def show(group: ClassRecord) -> None:
    """Draw the part."""
    _code(group)
    people = classes.members(store(), me(), group.id)
    students = [one for one in people if one.part == Part.STUDENT]
    st.subheader(_("Students"))
    if not students:
        look.quiet(_("Nobody has joined yet. Make a code and write it on the board."))
    for one in students:
        _student(group, one)
    running = [one.handle for one in people if one.part == Part.INSTRUCTOR]
    look.listing(_("Run by:"), running)
    with st.popover(_("Let another instructor in")):
        _another_instructor(group)


def _another_instructor(group: ClassRecord) -> None:
    st.write(_("Someone who then runs this class as you do: sees all work, gives sets, takes students out."))
    handle = st.text_input(_("Name they go by here"), max_chars=40, key=f"colleague-{group.id}")
    if st.button(_("Let in"), key=f"let-in-{group.id}"):
        try:
            classes.add_instructor(store(), me(), group.id, handle=handle)
        except RecordsError as error:
            st.error(said(error))
            return
        st.rerun()


def _code(group: ClassRecord) -> None:
    st.subheader(_("Code to join"))
    shown = st.session_state.get(f"code-{group.id}")
    if shown:
        class_look.code(shown)
        look.quiet(
            _(
                "Students open this program's address, choose “Join a class with a code”, type the code, and choose a "
                "pseudonym and a password. The code is shown this once; write it down or leave this page open."
            )
        )
    for one in join_codes.open_codes(store(), me(), group.id):
        with st.container(horizontal=True, vertical_alignment="center"):
            look.quiet(
                _("A code made {when} is open until {end}.").format(when=moment(one.made_at), end=moment(one.ends_at))
            )
            if st.button(_("End it now"), key=f"end-code-{one.id}"):
                join_codes.end_join_code(store(), me(), one.id)
                st.session_state.pop(f"code-{group.id}", None)
                st.rerun()
    if st.button(_("Make a code"), key=f"make-code-{group.id}", type="secondary" if shown else "primary"):
        made = join_codes.make_join_code(store(), me(), group.id)
        st.session_state[f"code-{group.id}"] = made.code
        st.rerun()


def _student(group: ClassRecord, one: MemberRecord) -> None:
    with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
        look.item(one.handle, _("joined {when}").format(when=moment(one.joined_at)))
        with st.container(horizontal=True, width="content"):
            with st.popover(_("New password")):
                _new_password(one)
            with st.popover(_("Take out")):
                st.write(_("What was handed in stays with the class. With a code the student can come back."))
                if st.button(_("Take out of the class"), key=f"out-{one.person_id}"):
                    classes.remove_member(store(), me(), group.id, one.person_id)
                    st.rerun()


def _new_password(one: MemberRecord) -> None:
    st.write(_("For someone who forgot theirs. The old one ends at once; at signing in they choose one of their own."))
    if st.button(_("Make a new password"), key=f"reset-{one.person_id}"):
        try:
            made = accounts.reset_password(store(), me(), one.person_id)
        except RecordsError as error:
            st.error(said(error))
            return
        class_look.code(made, small=True)
        st.write(_("Hand it over now: it is shown this once."))
