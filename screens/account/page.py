"""My account: what I may do here, my password, and signing out everywhere."""

import streamlit as st

from records.identity import accounts
from records.identity.people import Role
from records.identity.sessions import sign_out_everywhere
from screens import look
from screens.account.people import ROLE_WORDS
from screens.data import me, store
from screens.language import _


def show() -> None:
    """Draw the page."""
    person = me()
    entry = accounts.own_entry(store(), person)
    st.title(_("My account"))
    if entry is None:
        look.lede(_("You work alone on this computer; that needs no account."))
        return
    look.lede(_("You go by {handle} here.").format(handle=entry.handle))
    look.listing(
        _("What you may do"), [_(ROLE_WORDS[role]) for role in Role if role in entry.roles] or [_("nothing yet")]
    )
    st.header(_("Classes"))
    look.way("/join", _("Join a class with a code"))
    st.header(_("Signing in"))
    if entry.has_password:
        look.way("/password", _("Change your password"))
    else:
        look.quiet(_("You sign in with the school's system; your password is kept there, not here."))
    st.write(_("Signed in on a computer that others use? This ends every session of yours at once, this one too."))
    if st.button(_("Sign out everywhere")):
        sign_out_everywhere(store(), person)
        st.rerun()
