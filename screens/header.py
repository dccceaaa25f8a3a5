"""The line that says who is signed in, and what is shown where nobody is."""

from html import escape

import streamlit as st

from records.accounts import has_accounts
from records.people import LOCAL_HANDLE, Person
from screens.data import store
from screens.door.cookies import MARK, form_token
from screens.door.visitor import secret_of


def who_is_here(person: Person) -> None:
    """Name and a way out; nothing where one person works alone and nobody has an account."""
    if not has_accounts(store()):
        return
    alone = person.handle == LOCAL_HANDLE
    said = "Working alone on this computer" if alone else f"Signed in as <b>{escape(person.handle)}</b>"
    st.html(
        f'<div class="ll-who"><span>{said}</span><form method="post" action="/sign-out">'
        f'<input type="hidden" name="form_token" value="{_token()}"><button type="submit">Sign out</button></form></div>'
    )


def _token() -> str:
    return form_token(secret_of(store()), st.context.cookies.get(MARK, ""))


def nobody_is_here() -> None:
    """The way in, for whoever opened a page without being signed in, or whose session ended."""
    st.title("Please sign in")
    st.html(
        '<p class="ll-lede">This page belongs to a school. Everything that was saved is kept.</p>'
        '<p><a class="ll-way-in" href="/sign-in" target="_self">Sign in</a></p>'
    )
