"""Cutting one photo of a batch and covering what must not be shown, before anything of it is stored."""

from collections.abc import Mapping

import streamlit as st

from screens import look
from screens.cover_editor import CoverEditorValue, cover_editor
from screens.data import me
from screens.language import _
from screens.samples import SCREEN_LONGEST
from screens.sets import pictures as set_pictures
from screens.uploads.batch import Batch, Upload, Waiting
from vision.cover import propose_covers
from vision.errors import VisionError
from vision.images import encode_jpeg, read_photo, reduced


@st.fragment
def show(batch: Batch, uploads: Mapping[str, Upload]) -> None:
    """Work on the photo that is open; its changes rerun only this part."""
    look.quiet(
        _(
            "Open each photo that shows people: cover wristbands, tattoos, name cards, screens and faces that must not "
            "be shown, and cut away what is not needed. Covers are burned into what is stored, for good."
        )
    )
    chosen = batch.open
    if chosen is None or chosen not in batch.waiting or batch.waiting[chosen].left_out:
        look.quiet(_("Press “Cut and cover” under a photo above to open it here."))
        return
    one = batch.waiting[chosen]
    _close_others(batch, one)
    _open(one, uploads[chosen])
    if batch.people and not one.faces_sought:
        with st.spinner(_("Looking for faces")):
            _propose(one, uploads[chosen])
    st.subheader(one.name)
    one.title = st.text_input(
        _("Title of this photo"),
        value=one.title,
        max_chars=80,
        key=f"title-{chosen}",
        placeholder=_("else the common title and a number"),
    )
    st.button(
        _("Look for faces"),
        key=f"faces-{chosen}",
        help=_("The measured baby's face is not proposed."),
        on_click=_propose,
        args=(one, uploads[chosen]),
    )
    for note in one.notes:
        look.quiet(_(note))

    def edited(value: CoverEditorValue) -> None:
        one.areas, one.proposals, one.crop = value.areas, value.proposals, value.crop

    cover_editor(
        key=f"cover-{chosen}",
        photo_url=f"/set-uploads/{one.screen}/picture.jpg",
        width=one.width,
        height=one.height,
        areas=one.areas,
        proposals=one.proposals,
        crop=one.crop,
        revision=one.editor_revision,
        height_px=520,
        on_edit=edited,
    )
    _next(batch)


def _next(batch: Batch) -> None:
    rest = [one.upload_id for one in batch.chosen if not one.looked_at]
    label = _("Next photo, {n} not looked at yet").format(n=len(rest)) if rest else _("All were looked at: close")
    if st.button(label, key="next-to-cover"):
        batch.open = rest[0] if rest else None
        st.rerun()


def _close_others(batch: Batch, one: Waiting) -> None:
    """Drop the large pictures of other photos, which would fill the memory."""
    for other in batch.waiting.values():
        if other is not one and other.screen is not None:
            set_pictures.forget(other.screen)
            other.screen = None


def _open(one: Waiting, upload: Upload) -> None:
    """Have the large picture of this one ready."""
    if one.screen is None or not _is_there(one.screen):
        photo = read_photo(upload.getvalue())
        one.screen = set_pictures.keep(me(), encode_jpeg(reduced(photo, SCREEN_LONGEST), quality=85))
    one.looked_at = True


def _is_there(token: str) -> bool:
    try:
        set_pictures.waiting(me(), token)
    except KeyError:
        return False
    return True


def _propose(one: Waiting, upload: Upload) -> None:
    one.faces_sought = True
    try:
        found = propose_covers(read_photo(upload.getvalue()))
    except VisionError as fault:
        one.notes = (str(fault),)
        return
    one.notes = found.notes
    one.proposals = tuple(area for area in found.areas if area not in one.areas)
    one.editor_revision += 1
