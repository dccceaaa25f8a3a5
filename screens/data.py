"""What the screens work on: the one store of this process, who this page belongs to, the checklist."""

import threading
from functools import cache

import streamlit as st

from records.errors import NotSignedIn
from records.identity.people import Person
from records.store import Store
from rubric.checklist import shipped_checklist
from rubric.items import Checklist
from screens.door.cookies import SESSION
from screens.door.visitor import visitor_of
from screens.samples import add_shipped_samples

_opening = threading.Lock()


@cache
def _opened() -> Store:
    store = Store.open()
    add_shipped_samples(store)
    return store


def store() -> Store:
    """The open store; the first call opens it and takes in the shipped doll photos.

    Raises
    ------
    records.errors.StorageFault
        Where the data folder or the database cannot be used; the next call tries again.
    """
    with _opening:
        return _opened()


def cookie(name: str) -> str | None:
    """A cookie that the browser of this page brought along."""
    found = st.context.cookies.get(name)
    # Where there is no browser (Streamlit's own test runner) this is a stand-in of some kind.
    return found if isinstance(found, str) else None


def session_token() -> str | None:
    """The session's token that the browser of this page brought along."""
    return cookie(SESSION)


def visitor() -> Person | None:
    """Whoever this page belongs to at this moment: asked anew at each call, and None once the session has ended."""
    return visitor_of(store(), session_token())


def me() -> Person:
    """As `visitor`, for what needs someone.

    Raises
    ------
    NotSignedIn
    """
    person = visitor()
    if person is None:
        raise NotSignedIn("You are not signed in here, or no longer.")
    # A part of a page that reruns by itself, or a button's callback, comes before the page has asked who is here.
    if st.session_state.get("_whose") not in (None, "", person.id):
        raise NotSignedIn("Someone else has signed in since this page was opened; please load it anew.")
    return person


def checklist() -> Checklist:
    """The checklist in use."""
    return shipped_checklist()
