"""One class: the work it was given, who belongs to it, how long it is kept."""

from datetime import date, timedelta

import streamlit as st

from records.classroom.assignments import list_assignments
from records.classroom.class_values import AssignmentRecord, ClassRecord
from records.classroom.classes import LONGEST_DAYS, change_class, get_class
from records.errors import RecordsError
from screens import look, places
from screens.classes import giving
from screens.classes import members as class_members
from screens.classes import pieces as class_look
from screens.classes.words import KEY_RULES_INSIDE, ORDERS, moment
from screens.data import me, store
from screens.language import _, _n, said
from screens.local_time import day_words
from screens.to_top import to_top


def show() -> None:
    """Draw the class that the address names."""
    class_look.apply()
    class_id = st.query_params.get("id")
    if not class_id:
        places.go("classes")
    group = get_class(store(), me(), class_id or "")
    to_top(f"class {group.id}")
    st.title(group.title)
    look.quiet(
        _n("{n} student, kept until {day}.", "{n} students, kept until {day}.", group.n_students).format(
            n=group.n_students, day=day_words(group.keep_until)
        )
    )
    if said := st.session_state.pop("said", None):
        st.success(said)
    if group.keep_until < store().today():
        st.warning(
            _(
                "The last day of this class is over, and its work is erased in some days. To keep it longer, choose a later last "
                "day under “Name and last day”."
            )
        )
    work, students, settings = st.tabs([_("Work"), _("Students"), _("Name and last day")])
    with work:
        _work(group)
    with students:
        class_members.show(group)
    with settings:
        _settings(group)
    if st.button(_("All classes")):
        places.go("classes")


def _work(group: ClassRecord) -> None:
    given = list_assignments(store(), me(), group.id)
    for one in given:
        with st.container(border=True, horizontal=True, vertical_alignment="center", horizontal_alignment="distribute"):
            look.item(one.title, _in_short(one))
            if st.button(_("Open"), key=f"given-{one.id}"):
                places.go("given", work=one.id)
            if st.button(_("Review"), key=f"review-{one.id}", type="primary"):
                places.go("review", work=one.id)
    if not given:
        look.quiet(_("Nothing is given to this class yet."))
    with st.expander(_("Give a teaching set"), expanded=not given):
        giving.show(group)


def _in_short(one: AssignmentRecord) -> str:
    due = _("No due date") if one.due_at is None else _("Due {when}").format(when=moment(one.due_at))
    parts = [
        _n("{n} photo", "{n} photos", one.n_slots).format(n=one.n_slots),
        due,
        _("Closed") if one.closed_at else "",
        _(ORDERS[one.order]),
        _("Students see the key {when}").format(when=_(KEY_RULES_INSIDE[one.key_rule])),
    ]
    return " ".join(f"{part}." for part in parts if part)


def _settings(group: ClassRecord) -> None:
    with st.form(f"settings-{group.id}", border=False):
        title = st.text_input(_("Name of the class"), value=group.title, max_chars=80)
        today = date.today()
        until = st.date_input(
            _("Keep its work until"),
            value=max(group.keep_until, today),
            min_value=today,
            max_value=today + timedelta(days=LONGEST_DAYS),
            help=_("About a week after that day, the answers, points and comments of this class are erased."),
        )
        if st.form_submit_button(_("Save")):
            try:
                change_class(store(), me(), group.id, title=title, keep_until=until)
            except RecordsError as error:
                st.error(said(error))
                return
            st.session_state["said"] = _("Saved.")
            st.rerun()
