"""Signing in by the school's own system (OpenID Connect), where `[auth]` in Streamlit's secrets.toml names one.

Streamlit talks with that system and tells a run who it is (`st.user`); its cookie lives for weeks and is not ours to
end, so it is believed only within some minutes of the moment that the system vouched. A ticket then carries the answer to
the route that sets this program's own cookie.
"""

import time
from html import escape

import streamlit as st

from records.errors import InvalidRecord
from records.identity.identities import Identity, new_ticket
from screens import data
from screens.language import _, said

#: How long after the system vouched for someone it is believed; clocks may differ by as much.
FRESH_SECONDS = 300


def is_configured() -> bool:
    """Whether the school named a system of its own."""
    return bool(st.secrets.load_if_toml_exists() and "auth" in st.secrets)


def vouched_for() -> Identity | None:
    """Whoever the school's system vouched for in this browser just now."""
    if not is_configured() or not st.user.is_logged_in:
        return None
    issued = st.user.get("iat")
    if not isinstance(issued, int | float) or abs(time.time() - issued) > FRESH_SECONDS:
        return None
    try:
        return Identity(issuer=str(st.user.get("iss") or ""), subject=str(st.user.get("sub") or ""))
    except InvalidRecord as error:
        st.error(said(error))
        return None


def offer(form_token: str) -> None:
    """The button to the school's system; where it has just vouched for someone, the way on."""
    identity = vouched_for()
    if identity is None:
        st.button(_("Sign in with the school's system"), on_click=st.login)
        return
    ticket = new_ticket(data.store(), identity)
    st.html(
        '<form method="post" action="/ticket" id="ll-ticket">'
        f'<input type="hidden" name="form_token" value="{escape(form_token, quote=True)}">'
        f'<input type="hidden" name="ticket" value="{escape(ticket, quote=True)}">'
        f'<button type="submit" class="ll-way-in">{escape(_("Go on"))}</button></form>'
        "<script>document.getElementById('ll-ticket').requestSubmit()</script>",
        unsafe_allow_javascript=True,
    )
