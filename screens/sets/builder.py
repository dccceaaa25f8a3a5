"""One version of a teaching set: its photos in order, what hinders publishing, and what one can do with it."""

import re
from collections.abc import Callable

import streamlit as st

from records import teaching_sets as sets
from records.errors import RecordsError
from records.key.expert_keys import expert_keys_in
from records.photo.photos import list_photos
from records.teaching_sets import SetPhoto, State, VersionRecord
from rubric.panel import PanelReview
from screens import look, places
from screens.data import checklist, me, store
from screens.language import _, told
from screens.samples import shown_title
from screens.sets import frozen as set_frozen
from screens.sets.agreeing import agreement_line, panel_of
from screens.sets.page import DIFFICULTY, STATE_WORDS, day
from screens.uploads.waiting_points import ask_for_points

_MOST_FAULTS = 10


def show() -> None:
    """Draw the page for the version that the address names."""
    version_id = st.query_params.get("version")
    if not version_id:
        places.go("sets")
        return
    version = sets.get_version(store(), me(), version_id)
    if st.button(_("All teaching sets"), type="tertiary"):
        places.go("sets")
    st.title(version.title)
    if said := st.session_state.pop("said", None):
        st.success(said)
    if fault := st.session_state.pop("set-fault", None):
        st.error(fault)
    look.quiet(_state_line(version))
    if version.state == State.DRAFT:
        _draft(version)
    else:
        set_frozen.show(version)


def _state_line(version: VersionRecord) -> str:
    when = "" if version.published_at is None else " " + _("Published on {day}.").format(day=day(version.published_at))
    seal = "" if version.seal is None else " " + _("Seal {seal}.").format(seal=version.seal[:12])
    return _("Version {number}. {state}.{when}{seal}").format(
        number=version.number, state=_(STATE_WORDS[version.state]), when=when, seal=seal
    )


def _change(what: Callable[..., VersionRecord], version: VersionRecord, *args: object) -> None:
    """Do one change of a draft; a fault is shown on the page that follows."""
    try:
        what(store(), me(), version.id, *args, expected_revision=version.revision)
    except RecordsError as refused:
        st.session_state["set-fault"] = str(refused)


def _draft(version: VersionRecord) -> None:
    waiting = ask_for_points()
    if waiting:
        look.quiet(
            _("Points are being proposed for {waiting} of your photos; go on meanwhile.").format(waiting=waiting)
        )
    agreement = panel_of(expert_keys_in(store(), me(), version.id), checklist())
    left, right = st.columns([7, 4], gap="large")
    with right:
        _publishing(version)
        _experts(version, agreement)
        _notes(version)
        _throw_away(version)
    with left:
        st.header(_("Photos ({n_photos})").format(n_photos=version.n_photos))
        if not version.photos:
            look.quiet(_("No photo yet. Add some below."))
        for photo in version.photos:
            _row(version, photo)
        st.header(_("Add photos"))
        _adding(version)


def _row(version: VersionRecord, photo: SetPhoto) -> None:
    if photo.photo_id is None:
        with st.container(border=True):
            look.quiet(
                _("{position}. This photo was removed or its consent was withdrawn. It will not be published.").format(
                    position=photo.position
                )
            )
        return
    photo_id = photo.photo_id
    with st.container(border=True):
        picture, rest = st.columns([2, 5])
        with picture:
            look.card_picture(
                f"/set-photos/{photo_id}/thumbnail.jpg",
                _("Photo {position}: {title}").format(position=photo.position, title=shown_title(photo.title)),
            )
        with rest:
            tags = [_("has a key") if photo.has_key else _("no key yet")] + (
                [_("own class only")] if photo.own_class_only else []
            )
            look.card_text(f"{photo.position}. {shown_title(photo.title)}", tags)
            if photo.refusal:
                st.warning(told(photo.refusal))
            _row_tools(version, photo, photo_id)


def _row_tools(version: VersionRecord, photo: SetPhoto, photo_id: str) -> None:
    key = f"{photo_id}-{version.revision}"

    def harder() -> None:
        _change(sets.set_difficulty, version, photo_id, st.session_state[f"difficulty-{key}"])

    def noted() -> None:
        _change(sets.set_note, version, photo_id, st.session_state[f"note-{key}"])

    tools = st.container(horizontal=True, vertical_alignment="bottom")
    if tools.button(_("Key"), key=f"key-{key}", type="secondary" if photo.has_key else "primary"):
        places.go("key", photo=photo_id, version=version.id)
    order = [one.photo_id for one in version.photos if one.photo_id]
    at = order.index(photo_id)
    moves = ((_("Up"), at - 1, at == 0), (_("Down"), at + 1, at == len(order) - 1))
    for word, to, stuck in moves:
        tools.button(word, key=f"{word}-{key}", disabled=stuck, on_click=_move, args=(version, photo_id, to))
    tools.button(_("Take out"), key=f"out-{key}", on_click=_change, args=(sets.remove_photo, version, photo_id))
    with st.expander(
        _("Difficulty and note")
        if not photo.note
        else _("{difficulty}; has a note").format(difficulty=_(DIFFICULTY[photo.difficulty]))
    ):
        st.radio(
            _("Difficulty"),
            list(DIFFICULTY),
            index=list(DIFFICULTY).index(photo.difficulty),
            format_func=lambda level: _(DIFFICULTY[level]),
            horizontal=True,
            key=f"difficulty-{key}",
            on_change=harder,
        )
        st.text_area(
            _("Note for whoever teaches; students do not see it"),
            value=photo.note,
            max_chars=2000,
            key=f"note-{key}",
            on_change=noted,
        )


def _move(version: VersionRecord, photo_id: str, to: int) -> None:
    order = [one.photo_id for one in version.photos if one.photo_id and one.photo_id != photo_id]
    _change(sets.reorder, version, [*order[:to], photo_id, *order[to:]])


def _adding(version: VersionRecord) -> None:
    if st.button(_("Add many photos at once"), type="primary"):
        places.go("many-photos", version=version.id)
    held = {photo.photo_id for photo in version.photos}
    others = {photo.id: photo for photo in list_photos(store(), me()) if photo.id not in held}
    chosen = st.multiselect(
        _("Or choose from your photos and the doll photos that came with the program"),
        list(others),
        format_func=lambda photo_id: (
            others[photo_id].title
            if others[photo_id].has_key
            else _("{title} (no key yet)").format(title=others[photo_id].title)
        ),
        key=f"choose-{version.revision}",
        placeholder=_("Choose photos"),
    )
    st.button(
        _("Add the chosen ones"), disabled=not chosen, on_click=_change, args=(sets.add_photos, version, list(chosen))
    )


def _hindrance(fault: str) -> str:
    """What stands against publishing; `records` names the photo before a colon."""
    found = re.fullmatch(r"Photo (\d+), (.*): ([^:]+)", fault, re.S)
    if found is None:
        return told(fault)
    number, title, why = found.groups()
    return _("Photo {n}, {title}: {why}").format(n=number, title=shown_title(title), why=told(why))


def _publishing(version: VersionRecord) -> None:
    with st.container(border=True):
        st.subheader(_("Publish"))
        faults = sets.hindrances(store(), me(), version.id)
        if faults:
            more = len(faults) - _MOST_FAULTS
            rest = [_("And {more} more of the kind.").format(more=more)] if more > 0 else []
            look.listing(_("Before it can be published:"), [*map(_hindrance, faults[:_MOST_FAULTS]), *rest])
        else:
            look.quiet(
                _(
                    "Nothing stands against it. Publishing freezes photos, order and keys; later changes go into a new draft."
                )
            )
        st.button(
            _("Publish this set"),
            type="primary",
            disabled=bool(faults),
            width="stretch",
            on_click=_publish,
            args=(version,),
        )


def _publish(version: VersionRecord) -> None:
    try:
        sets.publish(
            store(), me(), version.id, expected_revision=version.revision, checklist_version=checklist().version
        )
    except RecordsError as refused:
        st.session_state["set-fault"] = str(refused)
    else:
        st.session_state["said"] = _("Published. Instructors can give it to their classes now.")


def _experts(version: VersionRecord, agreement: PanelReview | None) -> None:
    with st.container(border=True):
        st.subheader(_("Experts' agreement"))
        if agreement is None:
            look.quiet(
                _(
                    "Not known yet: fewer than two experts have read the same photo, or you have not given or opened their "
                    "readings. "
                    "Two readings, each made alone, show which signs a key can lean on."
                )
            )
        else:
            look.quiet(agreement_line(agreement))
        if version.n_photos and st.button(_("Experts' readings"), width="stretch"):
            places.go("experts", version=version.id)


def _notes(version: VersionRecord) -> None:
    key = f"notes-{version.id}-{version.revision}"

    def noted() -> None:
        _change(sets.set_notes, version, st.session_state[key])

    with st.container(border=True):
        st.subheader(_("Notes"))
        st.text_area(
            _("Notes on the whole set, for whoever teaches with it"),
            value=version.notes,
            max_chars=2000,
            key=key,
            on_change=noted,
        )


def _throw_away(version: VersionRecord) -> None:
    with st.popover(_("Throw this draft away"), width="stretch"):
        st.write(_("The draft goes; its photos and their keys stay."))
        if st.button(_("Throw it away")):
            try:
                sets.discard_draft(store(), me(), version.id, expected_revision=version.revision)
            except RecordsError as refused:
                st.error(str(refused))
                return
            places.go("sets")
