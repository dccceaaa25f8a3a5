"""What the person sees when a change could not be saved, with the way out."""

import streamlit as st

from screens import look
from screens.language import _
from screens.practice.working import Working, reload, save_again


def show_fault(work: Working) -> None:
    """One sentence, and the way out: to save what waits on this page, else to take over what is on record."""
    if not work.fault:
        return
    st.error(work.fault)
    if work.unsaved:
        look.quiet(_("What you chose last is kept on this page and waits to be saved; please leave the page open."))
        st.button(_("Save now"), key=f"save-now-{work.attempt_id}", on_click=save_again, args=(work,))
    elif st.button(_("Show what is on record"), key=f"on-record-{work.attempt_id}"):
        reload(work.attempt_id)
        st.rerun()
