"""The line that says who is signed in, and what is shown where nobody is."""

from html import escape

import streamlit as st

from records.errors import NotSignedIn, RecordsError
from records.identity.people import LOCAL_HANDLE, Person
from records.identity.sessions import holder
from records.settings import read_settings
from screens import data
from screens.account import school_system
from screens.data import store
from screens.door.cookies import MARK, form_token
from screens.door.visitor import secret_of
from screens.language import _, said


def who_is_here(person: Person) -> None:
    """Name and a way out, where people have accounts."""
    if person.handle == LOCAL_HANDLE:
        who = escape(_("Working alone on this computer"))
        st.html(f'<div class="ll-who"><span>{who}</span>{_form("/sign-out", _("Sign in"))}</div>')
    else:
        who = escape(_("Signed in as {name}")).format(name=f"<b>{escape(person.handle)}</b>")
        st.html(f'<div class="ll-who"><span>{who}</span>{_form("/sign-out", _("Sign out"))}</div>')


def offer_a_school() -> None:
    """The small way from working alone to a school, at the foot of the first page."""
    way = f'<a href="/first-account" target="_self">{escape(_("Open a school on this computer"))}</a>'
    text = escape(_("Working alone on this computer; no account is needed. For classes with accounts: {way}"))
    st.html(f'<p class="ll-quiet">{text.format(way=way)}</p>')


def _token() -> str:
    return form_token(secret_of(store()), data.cookie(MARK) or "")


def _form(action: str, words: str, shape: str = "") -> str:
    return (
        f'<form method="post" action="{action}"><input type="hidden" name="form_token" value="{_token()}">'
        f'<button type="submit" class="{shape}">{escape(words)}</button></form>'
    )


def nobody_is_here() -> None:
    """The way in, for whoever opened a page without being signed in, or whose session ended, or is another's by now."""
    held = holder(store(), data.session_token())
    if held is not None and not held.must_change:
        st.title(_("This page was opened by someone else"))
        told = _("In this browser {name} has signed in since. Nothing that was saved is lost.")
        st.html(
            f'<p class="ll-lede">{escape(told).format(name=f"<b>{escape(held.person.handle)}</b>")}</p>'
            f'<p><a class="ll-way-in" href="/" target="_self">{escape(_("Open the first page"))}</a></p>'
        )
        return
    if held is not None:
        st.title(_("Choose a password of your own"))
        st.html(
            f'<p class="ll-lede">{escape(_("The one that you signed in with was made by someone else."))}</p>'
            f'<p><a class="ll-way-in" href="/password" target="_self">{escape(_("Change the password"))}</a></p>'
        )
        return
    st.title(_("Please sign in"))
    st.html(
        f'<p class="ll-lede">{escape(_("This page belongs to a school. Everything that was saved is kept."))}</p>'
        f'<p class="ll-ways"><a class="ll-way-in" href="/sign-in" target="_self">{escape(_("Sign in"))}</a> '
        f'<a class="ll-download" href="/join" target="_self">{escape(_("Join a class with a code"))}</a></p>'
    )
    if school_system.is_configured():
        school_system.offer(_token())
    if read_settings(store()).alone_open and _at_this_computer():
        st.html(_form("/alone", _("Work alone on this computer"), "ll-plain"))


def on_script_error(error: Exception) -> bool:
    """Say in our own words that something went wrong; Streamlit has written it to the log by then.

    Parts of a page that rerun by themselves come here as well where nobody is signed in any more. Streamlit's own words
    would offer to look the error up elsewhere.

    Returns
    -------
    bool
        True: the page has been told.
    """
    if isinstance(error, NotSignedIn):
        nobody_is_here()
    elif isinstance(error, RecordsError):
        st.error(_("{error} Nothing that you had saved is lost.").format(error=said(error)))
    else:
        st.error(
            _("Something went wrong here, and what it was is in the program's log. Nothing that you had saved is lost.")
        )
    return True


def _at_this_computer() -> bool:
    # Streamlit gives no address for loopback.
    return st.context.ip_address is None and "X-Forwarded-For" not in st.context.headers
