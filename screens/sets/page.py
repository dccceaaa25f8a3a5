"""The teaching sets of the school: what there is, in which state, and the ways to a new one."""

from datetime import datetime

import streamlit as st

from records.errors import RecordsError
from records.teaching_sets import SetRecord, State, VersionLine, list_sets, new_draft, new_set
from screens import look, places
from screens.data import me, store
from screens.local_time import here
from screens.sets import sharing as set_sharing

STATE_WORDS = {
    State.DRAFT: "Draft: still changing, nobody else is given it",
    State.PUBLISHED: "Published: frozen, classes can be given it",
    State.RETIRED: "Retired: given to no more classes",
}
DIFFICULTY = {1: "Plain", 2: "Middling", 3: "Hard"}


def show() -> None:
    """Draw the page."""
    st.title("Teaching sets")
    if said := st.session_state.pop("said", None):
        st.success(said)
    look.lede(
        "A teaching set is a row of photos, each with a reference key. You build a draft, publish it, and an instructor "
        "gives it to a class. What is published no longer changes; a new draft begins as its copy."
    )
    _begin()
    sets = list_sets(store(), me())
    st.header("All sets")
    if not sets:
        look.quiet("There is no set yet. Begin one above, or take one in from a file below.")
    for one in sets:
        _card(one)
    st.header("Take in a set from a file")
    set_sharing.take_in_form()


def _begin() -> None:
    with st.form("new-set", border=True):
        title = st.text_input("Title of a new set", max_chars=80, placeholder="for example: First looks, week 2")
        if st.form_submit_button("Begin a set", type="primary"):
            try:
                begun = new_set(store(), me(), title)
            except RecordsError as refused:
                st.error(str(refused))
                return
            if begun.draft is not None:
                places.go("set", version=begun.draft.id)


def _card(one: SetRecord) -> None:
    with st.container(border=True):
        newest = one.versions[-1]
        look.card_text(one.title, [f"{len(one.versions)} version{'' if len(one.versions) == 1 else 's'}"])
        for line in reversed(one.versions):
            _version(line)
        if newest.state != State.DRAFT and st.button("New draft from the last version", key=f"draft-{one.id}"):
            places.go("set", version=new_draft(store(), me(), one.id).id)


def _version(line: VersionLine) -> None:
    row = st.container(horizontal=True, vertical_alignment="center")
    photos = f"{line.n_photos} photo{'' if line.n_photos == 1 else 's'}"
    when = "" if line.published_at is None else f", published on {day(line.published_at)}"
    with row.container():
        look.quiet(f"Version {line.number}, {photos}{when}. {STATE_WORDS[line.state]}.")
    label = "Go on building" if line.state == State.DRAFT else "Look at it"
    if row.button(label, key=f"open-{line.id}", help=f"Version {line.number}"):
        places.go("set", version=line.id)


def day(moment: datetime) -> str:
    """A day as people write it."""
    return f"{here(moment):%d %B %Y}".lstrip("0")
