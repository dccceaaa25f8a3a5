"""The teaching sets of the school: what there is, in which state, and the ways to a new one."""

from datetime import datetime

import streamlit as st

from records.errors import RecordsError
from records.teaching_sets import SetRecord, State, VersionLine, list_sets, new_draft, new_set
from screens import look, places
from screens.data import me, store
from screens.language import N_, _, _n
from screens.local_time import day_words, here
from screens.sets import sharing as set_sharing

STATE_WORDS = {
    State.DRAFT: N_("Draft: still changing, nobody else is given it"),
    State.PUBLISHED: N_("Published: frozen, classes can be given it"),
    State.RETIRED: N_("Retired: given to no more classes"),
}
DIFFICULTY = {1: N_("Plain"), 2: N_("Middling"), 3: N_("Hard")}


def show() -> None:
    """Draw the page."""
    st.title(_("Teaching sets"))
    if said := st.session_state.pop("said", None):
        st.success(said)
    look.lede(
        _(
            "A teaching set is a row of photos, each with a key, the reading that students compare theirs with. You "
            "build a draft, publish it, and an instructor gives it to a class. "
            "What is published no longer changes; a new draft begins as its copy."
        )
    )
    _begin()
    sets = list_sets(store(), me())
    st.header(_("All sets"))
    if not sets:
        look.quiet(_("There is no set yet. Begin one above, or take one in from a file below."))
    for one in sets:
        _card(one)
    st.header(_("Take in a set from a file"))
    set_sharing.take_in_form()


def _begin() -> None:
    with st.form("new-set", border=True):
        title = st.text_input(_("Title of a new set"), max_chars=80, placeholder=_("for example: First looks, week 2"))
        if st.form_submit_button(_("Begin a set"), type="primary"):
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
        look.card_text(one.title, [_n("{n} version", "{n} versions", len(one.versions)).format(n=len(one.versions))])
        for line in reversed(one.versions):
            _version(line)
        if newest.state != State.DRAFT and st.button(_("New draft from the last version"), key=f"draft-{one.id}"):
            places.go("set", version=new_draft(store(), me(), one.id).id)


def _version(line: VersionLine) -> None:
    row = st.container(horizontal=True, vertical_alignment="center")
    photos = _n("{n} photo", "{n} photos", line.n_photos).format(n=line.n_photos)
    said = {"number": line.number, "photos": photos, "state": _(STATE_WORDS[line.state])}
    with row.container():
        if line.published_at is None:
            look.quiet(_("Version {number}, {photos}. {state}.").format(**said))
        else:
            text = _("Version {number}, {photos}, published on {day}. {state}.")
            look.quiet(text.format(day=day(line.published_at), **said))
    label = _("Go on building") if line.state == State.DRAFT else _("Look at it")
    if row.button(label, key=f"open-{line.id}", help=_("Version {number}").format(number=line.number)):
        places.go("set", version=line.id)


def day(moment: datetime) -> str:
    """A day as people write it."""
    return day_words(here(moment))
