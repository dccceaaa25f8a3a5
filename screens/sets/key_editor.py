"""Writing a key: the points, and for each sign the answer, what is also accepted, and why.

The same page serves the reference key of a photo and an expert's own reading of it.
"""

from collections.abc import Mapping
from itertools import groupby
from typing import Any

import streamlit as st

from records.key.reference_keys import How
from records.photo.photo_readings import proposed_points
from rubric.items import Item
from screens import look, places
from screens.data import checklist, me, store
from screens.editor import EditorValue, landmark_editor
from screens.language import N_, _, _n
from screens.local_time import moment_words
from screens.practice.measuring import readout
from screens.samples import shown_title
from screens.sets import key_answers
from screens.sets.key_desk import Desk, KeyDesk, desk, keep_points, reload, save
from screens.words import PHASES, VIEWS
from vision.detect import add_proposals
from vision.landmarks import LANDMARK_IDS, LandmarkSet

_TITLES = {Desk.REFERENCE: N_("Key"), Desk.READING: N_("Your own reading")}
_PARTS = (N_("Points"), N_("Signs"))


def show() -> None:
    """Draw the page for the photo that the address names."""
    photo_id = st.query_params.get("photo")
    if not photo_id:
        places.go("sets")
        return
    kind = Desk.READING if st.query_params.get("reading") else Desk.REFERENCE
    work = desk(kind, photo_id)
    _back()
    st.title(f"{_(_TITLES[kind])}: {shown_title(work.photo.title)}")
    _lede(work)
    _panel(work)


def _back() -> None:
    version_id = st.query_params.get("version")
    if version_id and st.button(_("Back to the set"), type="tertiary"):
        places.go("set", version=version_id)
    if not version_id and st.button(_("Experts' readings"), type="tertiary"):
        places.go("experts")


def _lede(work: KeyDesk) -> None:
    if not work.writable:
        why = (
            _("This photo came with the program, and its key stays as it is.")
            if work.kind == Desk.REFERENCE
            else _(
                "You have looked at the other experts' readings of this photo, so you can no longer give one of your own."
            )
        )
        look.notice(_("To look at only"), why)
        return
    if work.kind == Desk.REFERENCE:
        look.quiet(
            _(
                "What you hold to be seen in this photo. It is what students' work is compared with once they have handed in. "
                "Every change is saved at once."
            )
        )
    else:
        look.quiet(
            _(
                "Read the photo on your own: nobody sees your reading before giving theirs, and you see no one's before giving "
                "yours. Every change is saved at once."
            )
        )


@st.fragment
def _panel(work: KeyDesk) -> None:
    _fault(work)
    top = st.container(border=True)
    with top:
        left, right = st.columns(2)
        with left:
            _say(work, "phase", _("When was it taken?"), PHASES)
        with right:
            _say(work, "view", _("From where?"), VIEWS)
    if work.unsaved:
        st.warning(_("Say when and from where the photo was taken: only then is the rest saved."))
    part = st.segmented_control(
        _("Part of the key"),
        _PARTS,
        format_func=_,
        default=_PARTS[0],
        key=f"part-{work.photo.id}",
        label_visibility="collapsed",
    )
    if part == _PARTS[1]:
        _signs(work)
    else:
        _points(work)
    _history(work)


def _fault(work: KeyDesk) -> None:
    if work.fault:
        st.error(work.fault)
        if st.button(_("Show what is on record")):
            reload(work.kind, work.photo.id)
            st.rerun()


def _say(work: KeyDesk, part: str, question: str, words: Mapping[Any, str]) -> None:
    key, options, said = f"{part}-{work.photo.id}-{work.generation}", list(words), getattr(work, part)

    def changed() -> None:
        setattr(work, part, st.session_state[key])
        save(work)

    st.radio(
        question,
        options,
        index=options.index(said) if said else None,
        format_func=words.__getitem__,
        key=key,
        on_change=changed,
        disabled=not work.writable,
    )


def _points(work: KeyDesk) -> None:
    if work.writable:
        _proposals(work)

    def edited(value: EditorValue) -> None:
        keep_points(work, value.landmarks)

    landmark_editor(
        key=f"key-points-{work.photo.id}-{work.kind}-{work.generation}",
        photo_url=f"/set-photos/{work.photo.id}/screen.jpg",
        width=work.photo.width,
        height=work.photo.height,
        landmarks=work.landmarks if work.writable else LandmarkSet(),
        reference=None if work.writable else work.landmarks,
        revision=work.editor_revision,
        mode="points" if work.writable else "look",
        ask=LANDMARK_IDS,
        readout=readout if work.writable else readout(work.landmarks),
        on_edit=edited,
    )


def _proposals(work: KeyDesk) -> None:
    found = proposed_points(store(), me(), work.photo.id)
    if found.at is None:
        look.quiet(_("No points are proposed for this photo yet. Place them by hand, or look again in a moment."))
        return
    after = add_proposals(work.landmarks, found.landmarks)
    n_new = len(after.points) - len(work.landmarks.points)
    if n_new == 0:
        return
    row = st.container(horizontal=True, vertical_alignment="center")
    with row.container():
        look.quiet(
            _n(
                "The program proposes {n} point that you have not placed. Proposals are where a model believes them to be: "
                "check each one and drag it where it belongs. Your own points stay.",
                "The program proposes {n} points that you have not placed. Proposals are where a model believes them to be: "
                "check each one and drag it where it belongs. Your own points stay.",
                n_new,
            ).format(n=n_new)
        )
    row.button(
        _n("Take over {n} proposed point", "Take over {n} proposed points", n_new).format(n=n_new),
        on_click=lambda: keep_points(work, after, by_python=True),
    )


def _signs(work: KeyDesk) -> None:
    if work.phase is None or work.view is None:
        look.quiet(_("Say first when and from where the photo was taken; then the signs that it can show appear here."))
        return
    items = checklist().items_for(work.phase, work.view)
    photo, signs = st.columns([6, 5], gap="large")
    with photo, st.container(key="photo-side"):
        key_answers.photo_with_spots(work, items)
    with signs:
        done = sum(item.id in work.answers for item in items)
        st.progress(done / len(items), text=_("{done} of {n} signs answered").format(done=done, n=len(items)))
        number = 0
        for group, members in groupby(items, key=_group):
            st.subheader(group)
            for item in members:
                number += 1
                key_answers.sign(work, item, number)


def _group(item: Item) -> str:
    return _(item.group)


def _history(work: KeyDesk) -> None:
    if not work.history:
        return
    with st.expander(_("Who changed what")):
        names = {item.id: _(item.text) for item in checklist().items}
        for line in work.history:
            parts = ", ".join(names.get(part, part.replace("_", " ")) for part in line.parts)
            text = (
                _("{when}, {name} from the experts' readings: {parts}")
                if line.how == How.FROM_EXPERTS
                else _("{when}, {name}: {parts}")
            )
            look.quiet(text.format(when=moment_words(line.at), name=line.by, parts=parts))
