"""The classes that an instructor runs, and a new one."""

from datetime import date, timedelta

import streamlit as st

from records.classroom.classes import LONGEST_DAYS, list_classes, new_class
from records.errors import RecordsError
from screens import look, places
from screens.classes import example_offer
from screens.classes import pieces as class_look
from screens.data import me, store
from screens.language import _, _n, said
from screens.local_time import day_words

DEFAULT_DAYS = 200


def show() -> None:
    """Draw the page."""
    class_look.apply()
    st.title(_("Classes"))
    if said := st.session_state.pop("said", None):
        st.success(said)
    mine = list_classes(store(), me())
    look.lede(
        _(
            "A class has students who join with a code, photos that you give them to work on, and a day "
            "until which its work is kept."
        )
        if not mine
        else _("The classes that you run.")
    )
    for group in mine:
        with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
            look.item(
                group.title,
                _("{students}, {work}, kept until {day}").format(
                    students=_n("{n} student", "{n} students", group.n_students).format(n=group.n_students),
                    work=_n("{n} piece of work given", "{n} pieces of work given", group.n_assignments).format(
                        n=group.n_assignments
                    ),
                    day=day_words(group.keep_until),
                ),
            )
            if st.button(_("Open"), key=f"class-{group.id}", type="primary"):
                places.go("class", id=group.id)
    with st.expander(_("New class"), expanded=not mine):
        _new()
    example_offer.offer()


def _new() -> None:
    with st.form("new-class", border=False):
        title = st.text_input(
            _("Name of the class"), max_chars=80, placeholder=_("for example: Linden Room, spring course")
        )
        today = date.today()
        until = st.date_input(
            _("Keep its work until"),
            value=today + timedelta(days=DEFAULT_DAYS),
            min_value=today,
            max_value=today + timedelta(days=LONGEST_DAYS),
            help=_("About a week after that day, the answers, points and comments of this class are erased."),
        )
        if st.form_submit_button(_("Make the class"), type="primary"):
            try:
                made = new_class(store(), me(), title=title, keep_until=until)
            except RecordsError as error:
                st.error(said(error))
                return
            places.go("class", id=made.id)
