"""What the person sees when a change could not be saved, with the way out."""

import streamlit as st

from screens.practice.working import Working, reload


def show_fault(work: Working) -> None:
    """One sentence and a button that takes over what is on record; nothing where all is saved."""
    if not work.fault:
        return
    st.error(work.fault)
    if st.button("Show what is on record", key=f"on-record-{work.attempt_id}"):
        reload(work.attempt_id)
        st.rerun()
