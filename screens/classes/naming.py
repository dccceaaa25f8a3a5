"""Whether an instructor sees students by name: off until asked for, and kept from page to page of this tab."""

import streamlit as st

from screens.language import _

_KEPT = "_names-of-students"
_SWITCH = "names-of-students"


def names_shown() -> bool:
    """Whether the person of this tab asked for names."""
    return bool(st.session_state.get(_KEPT, False))


def names_switch() -> None:
    """The switch; Streamlit forgets a widget's value on another page, so the choice is kept beside it."""
    st.toggle(
        _("Show names"),
        value=names_shown(),
        key=_SWITCH,
        on_change=_keep,
        help=_("Otherwise students stand here by number."),
    )


def _keep() -> None:
    st.session_state[_KEPT] = st.session_state[_SWITCH]
