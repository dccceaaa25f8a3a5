"""My account: what I may do here, my password, and signing out everywhere."""

import streamlit as st

from records.identity import accounts
from records.identity.people import Role
from records.identity.sessions import sign_out_everywhere
from screens import look
from screens.account.people import ROLE_WORDS
from screens.data import me, store


def show() -> None:
    """Draw the page."""
    person = me()
    entry = accounts.own_entry(store(), person)
    st.title("My account")
    if entry is None:
        look.lede("You work alone on this computer; that needs no account.")
        return
    look.lede(f"You go by {entry.handle} here.")
    look.listing("What you may do", [ROLE_WORDS[role] for role in Role if role in entry.roles] or ["nothing yet"])
    st.header("Classes")
    look.way("/join", "Join a class with a code")
    st.header("Signing in")
    if entry.has_password:
        look.way("/password", "Change your password")
    else:
        look.quiet("You sign in with the school's system; your password is kept there, not here.")
    st.write("Signed in on a computer that others use? This ends every session of yours at once, this one too.")
    if st.button("Sign out everywhere"):
        sign_out_everywhere(store(), person)
        st.rerun()
