"""Experts' readings: for each expert what to read, and for whoever builds a set how far they agree and one key of them."""

import streamlit as st

from records.errors import RecordsError
from records.identity.people import Role
from records.key.expert_keys import ExpertKeys, expert_keys_in, open_expert_keys, readings_asked
from records.key.reference_keys import key_to_edit
from records.teaching_sets import State, get_version
from rubric.answers import Answer
from rubric.panel import KeyChange, PanelItem
from rubric.reports.tables import item_words
from screens import look, places
from screens.data import checklist, me, store
from screens.language import _, _n
from screens.samples import shown_title
from screens.sets import points_apart
from screens.sets.agreeing import agreement_line, given_up, key_from_experts, panel_of, panel_of_one
from screens.sets.key_desk import Desk, reload, start_from
from screens.words import ANSWERS
from vision.landmarks import LandmarkSet


def show() -> None:
    """Draw the page: a version's readings where the address names one, else all that ask for a reading."""
    version_id = st.query_params.get("version")
    if version_id and Role.EDUCATOR in me().roles:
        _of_a_version(version_id)
    else:
        _asked()


def _asked() -> None:
    st.title(_("Experts' readings"))
    look.lede(
        _(
            "Before a set is published, two or more people read its photos, each alone. Where their readings agree, a key stands "
            "firm; where they part, the sign is worth talking about or leaving out."
        )
    )
    asked = readings_asked(store(), me())
    if not asked:
        st.info(_("No draft of a teaching set has photos to read just now."))
    for one in asked:
        with st.container(border=True):
            row = st.container(horizontal=True, vertical_alignment="center")
            with row.container():
                look.card_text(
                    shown_title(one.title), [one.set_title, _("read by you") if one.given else _("not read by you")]
                )
            if row.button(
                _("Change my reading") if one.given else _("Read this photo"),
                key=f"read-{one.photo_id}-{one.set_title}",
            ):
                places.go("key", photo=one.photo_id, reading="1")


def _of_a_version(version_id: str) -> None:
    version = get_version(store(), me(), version_id)
    if st.button(_("Back to the set"), type="tertiary"):
        places.go("set", version=version_id)
    st.title(_("Experts' readings: {title}").format(title=version.title))
    readings = expert_keys_in(store(), me(), version_id)
    panel = panel_of(readings, checklist())
    if panel is not None:
        look.lede(agreement_line(panel))
        look.quiet(
            _("Signs that no photo can show are left out. A blank is no answer. Few photos give wide intervals.")
        )
    titles = {photo.photo_id: f"{photo.position}. {shown_title(photo.title)}" for photo in version.photos}
    for one in readings:
        _photo(one, titles[one.photo_id], version_id, draft=version.state == State.DRAFT)


def _photo(one: ExpertKeys, title: str, version_id: str, *, draft: bool) -> None:
    with st.container(border=True):
        picture, rest = st.columns([2, 5])
        with picture:
            look.card_picture(f"/set-photos/{one.photo_id}/thumbnail.jpg", _("Photo: {title}").format(title=title))
        with rest:
            n = one.n_experts
            look.card_text(title, [_n("{n} reading", "{n} readings", n).format(n=n)])
            _ways(one, version_id, draft)
        if one.all:
            _readings(one, title, version_id, draft)


def _ways(one: ExpertKeys, version_id: str, draft: bool) -> None:
    row = st.container(horizontal=True)
    if draft and not one.opened:
        words = _("Give your own reading") if one.mine is None else _("Change your reading")
        if row.button(words, key=f"own-{one.photo_id}"):
            places.go("key", photo=one.photo_id, version=version_id, reading="1")
    if one.mine is None and not one.opened and one.n_experts:
        with row.popover(_("Look at them without reading")):
            st.write(
                _(
                    "You see what the experts said. From then on you can give no reading of your own for this photo, "
                    "since it would not be made alone."
                )
            )
            if st.button(_("Open the readings"), key=f"open-{one.photo_id}"):
                open_expert_keys(store(), me(), one.photo_id)
                st.rerun()


def _readings(one: ExpertKeys, title: str, version_id: str, draft: bool) -> None:
    panel = panel_of_one(one.all, checklist())
    parted = [item for item in panel.items if not item.agreed]
    if len(one.all) > 1:
        if parted:
            look.listing(_("They part on:"), (_parted_line(item) for item in parted))
            look.quiet(_("In class work these signs are shown and compared with nobody, whatever the key says."))
        else:
            look.quiet(_("They agree on every sign that more than one of them answered."))
    with st.expander(_("All readings, sign by sign")):
        look.table(
            [_("Sign"), *panel.experts],
            [
                [_(item_words(checklist(), item.item)), *(_word(item.answers.get(expert)) for expert in panel.experts)]
                for item in panel.items
            ],
            _("Readings of {title}").format(title=title),
        )
    if len(one.all) > 1:
        points_apart.show([reading.landmarks or LandmarkSet() for reading in one.all], title)
    if len(one.all) > 1 and draft:
        _consensus(one, version_id)


def _parted_line(item: PanelItem) -> str:
    said = ", ".join(f"{expert}: {_word(answer)}" for expert, answer in item.answers.items())
    return f"{_(item_words(checklist(), item.item))} ({said})"


def _word(answer: Answer | None) -> str:
    return _("left blank") if answer is None else ANSWERS[answer]


def _consensus(one: ExpertKeys, version_id: str) -> None:
    try:
        present = key_to_edit(store(), me(), one.photo_id)
    except RecordsError:
        return
    if not present.writable:
        look.quiet(_("This photo came with the program; its key stays as it is."))
        return
    with st.popover(_("Make one key of these")):
        st.write(
            _(
                "What they all say becomes the key, what they part on is left blank for you to settle together, and "
                "points lie in the middle of theirs."
            )
            + (" " + _("The key that is there now is replaced; its history stays.") if present.key is not None else "")
        )
        changes = given_up(one.all)
        if changes:
            look.listing(_("Who changes what:"), (_change_line(change) for change in changes))
        if st.button(_("Make the key"), key=f"consensus-{one.photo_id}"):
            key, points = key_from_experts(one.all)
            work = reload(Desk.REFERENCE, one.photo_id)
            start_from(work, key, points)
            places.go("key", photo=one.photo_id, version=version_id)


def _change_line(change: KeyChange) -> str:
    into = _("left open") if change.consensus is None else _word(change.consensus)
    return f"{change.expert}, {_(item_words(checklist(), change.item))} {_word(change.own)} → {into}"
