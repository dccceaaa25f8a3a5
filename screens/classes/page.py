"""The classes that an instructor runs, and a new one."""

from datetime import date, timedelta

import streamlit as st

from records.classroom.classes import LONGEST_DAYS, list_classes, new_class
from records.errors import RecordsError
from screens import look, places
from screens.classes import example_offer
from screens.classes import pieces as class_look
from screens.data import me, store

DEFAULT_DAYS = 200


def show() -> None:
    """Draw the page."""
    class_look.apply()
    st.title("Classes")
    if said := st.session_state.pop("said", None):
        st.success(said)
    mine = list_classes(store(), me())
    look.lede(
        "A class has students who join with a code, photos that you give them to work on, and a day until which its work is kept."
        if not mine
        else "The classes that you run."
    )
    for group in mine:
        with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
            look.item(
                group.title,
                f"{_count(group.n_students, 'student')}, {_count(group.n_assignments, 'piece')} of work given, "
                f"kept until {group.keep_until:%d %B %Y}",
            )
            if st.button("Open", key=f"class-{group.id}", type="primary"):
                places.go("class", id=group.id)
    with st.expander("New class", expanded=not mine):
        _new()
    example_offer.offer()


def _count(n: int, of: str) -> str:
    return f"{n} {of}{'' if n == 1 else 's'}"


def _new() -> None:
    with st.form("new-class", border=False):
        title = st.text_input("Name of the class", max_chars=80, placeholder="for example: Linden Room, spring course")
        today = date.today()
        until = st.date_input(
            "Keep its work until",
            value=today + timedelta(days=DEFAULT_DAYS),
            min_value=today,
            max_value=today + timedelta(days=LONGEST_DAYS),
            help="On the day after, the answers, points and comments of this class are erased.",
        )
        if st.form_submit_button("Make the class", type="primary"):
            try:
                made = new_class(store(), me(), title=title, keep_until=until)
            except RecordsError as error:
                st.error(str(error))
                return
            places.go("class", id=made.id)
