"""The guide: how the program is used, for each of its users, with what to mind."""

import streamlit as st

from records.identity.people import Role
from screens import look
from screens.data import me
from screens.guide.texts import GUIDES, is_translated, text_of
from screens.language import _, current

#: Which guide opens first for someone who holds that role; the first that fits counts.
_FIRST = ((Role.EDUCATOR, "sets"), (Role.INSTRUCTOR, "class"))


def show() -> None:
    """Draw the guide that was asked for, or the one that goes with the person's role."""
    asked = st.query_params.get("about", "")
    chosen = st.segmented_control(
        _("The guides"),
        list(GUIDES),
        default=asked if asked in GUIDES else _of_the_role(),
        format_func=lambda name: _(GUIDES[name]),
        key="guide-about",
    )
    name = chosen or _of_the_role()
    st.query_params["about"] = name
    if not is_translated(name, current()):
        look.quiet(_("Nobody has translated this guide yet; here it is in English."))
    st.markdown(text_of(name, current()))


def _of_the_role() -> str:
    person = me()
    # Whoever works alone holds all roles and came to practise.
    if len(person.roles) == len(Role):
        return "practising"
    return next((guide for role, guide in _FIRST if role in person.roles), "practising")
