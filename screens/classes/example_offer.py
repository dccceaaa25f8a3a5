"""The way to the example class: one click makes and opens it, a later one opens it again, and it can be taken out."""

import streamlit as st

from records.classroom.example_class import example_class_of
from records.classroom.example_end import remove_example_class
from records.identity.people import Role
from screens import look, places
from screens.classes.example_class import N_PHOTOS, N_STUDENTS, open_example_class
from screens.data import checklist, me, store
from screens.language import _


def offer() -> None:
    """Draw it, for whoever may run classes."""
    if Role.INSTRUCTOR not in me().roles:
        return
    there = example_class_of(store(), me())
    with st.container(border=True):
        look.item(
            _("See how a class is reviewed"),
            _(
                "An example: {n_students} invented students on {n_photos} doll photos. Nobody in it is "
                "real, and nobody else sees it."
            ).format(n_students=N_STUDENTS, n_photos=N_PHOTOS),
        )
        row = st.container(horizontal=True)
        words = _("Make the example and open its review") if there is None else _("Open the example's review")
        if row.button(words, key="example-open"):
            with st.spinner(_("Twenty invented students hand in ...")):
                there = open_example_class(store(), me(), checklist())
            places.go("review", work=there.work_id)
        if there is not None:
            with row.popover(_("Remove it")):
                st.write(
                    _("The class, its work, its invented students and its set of doll photos go. The photos stay.")
                )
                if st.button(_("Remove the example"), key="example-remove"):
                    remove_example_class(store(), me(), there.class_id)
                    st.session_state["said"] = _("The example is gone. It can be made again at any time.")
                    st.rerun()
