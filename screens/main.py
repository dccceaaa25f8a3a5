"""The script that Streamlit runs: the look, who is here, the pages, and one sentence where something of ours fails."""

import sys
from pathlib import Path
from typing import Any

# Streamlit puts this file's own folder on the path, not the project's.
PROJECT = str(Path(__file__).resolve().parent.parent)
if PROJECT not in sys.path:
    sys.path.insert(0, PROJECT)

import streamlit as st  # noqa: E402

from records.consent.retention import CLOCK_SLACK, daily  # noqa: E402
from records.errors import NotSignedIn, RecordsError  # noqa: E402
from records.identity.accounts import has_accounts  # noqa: E402
from records.identity.people import LOCAL_HANDLE, Person  # noqa: E402
from screens import choosing_language, data, header, look, places  # noqa: E402
from screens.language import _, choose, said  # noqa: E402
from screens.local_time import day_words  # noqa: E402
from screens.pages import PAGES, PageEntry  # noqa: E402


def main() -> None:
    """Draw the page that the address names, for whoever this browser belongs to."""
    st.set_page_config(page_title="Latch and Line", page_icon=look.ICON, layout="wide")
    look.apply()
    choose()
    choosing_language.tell_the_browser()
    person, school, fault = _who()
    if not fault:
        _once_a_day()
        _warn_of_the_clock()
    pages = {entry.name: _page(entry, person, school) for entry in PAGES}
    places.register(pages)
    page = st.navigation(list(pages.values()), position="top" if person else "hidden")
    if fault:
        _away(fault)
    elif person is None:
        header.nobody_is_here()
    else:
        _draw(page, person, school)
    look.footer()
    choosing_language.offer()


def _who() -> tuple[Person | None, bool, str]:
    """Who is here, whether people have accounts, and what keeps both from being known."""
    try:
        person = data.visitor()
        school = person is not None and has_accounts(data.store())
    except RecordsError as error:
        return None, False, said(error)
    # What another person left in this tab's memory is not for whoever signed in since.
    if st.session_state.get("_whose") not in (None, person.id if person else ""):
        st.session_state.clear()
    st.session_state["_whose"] = person.id if person else ""
    return person, school, ""


def _away(fault: str) -> None:
    """One sentence and a way to try again that keeps what this tab holds; loading the page anew would lose it."""
    st.error(fault)
    if getattr(st.session_state.get("working"), "unsaved", None):
        look.quiet(_("What you chose last is kept on this page and waits to be saved; please leave the page open."))
    st.button(_("Try again"))


def _once_a_day() -> None:
    try:
        daily(data.store())
    except RecordsError as error:
        st.warning(said(error))


def _warn_of_the_clock() -> None:
    if data.store().clock_behind < CLOCK_SLACK:
        return
    st.warning(
        _(
            "This computer's clock is behind what is on record here, so days are counted from {day} on until it is right. "
            "Please tell whoever keeps this program."
        ).format(day=day_words(data.store().today()))
    )


def _page(entry: PageEntry, person: Person | None, school: bool) -> Any:
    offered = entry.listed and person is not None and bool(person.roles & entry.roles)
    if entry.needs_accounts and (not school or person is None or person.handle == LOCAL_HANDLE):
        offered = False
    return st.Page(
        entry.show,
        title=_(entry.title),
        url_path=entry.name,
        default=entry.name == "start",
        visibility="visible" if offered else "hidden",
    )


def _draw(page: Any, person: Person, school: bool) -> None:
    if school:
        header.who_is_here(person)
    try:
        page.run()
        if not school and page.url_path == "":
            header.offer_a_school()
    except NotSignedIn:
        header.nobody_is_here()
    except RecordsError as error:
        _away(_("{error} Nothing that you had saved is lost.").format(error=said(error)))


main()
