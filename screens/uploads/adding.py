"""Taking in a photo: what it shows and who agreed, then the crop, and only then anything is stored."""

from dataclasses import dataclass
from typing import Any

import streamlit as st

from records.consent.consents import DollDeclaration, NewConsent
from records.errors import RecordsError
from records.photo.photos import add_photo
from screens import look
from screens.data import me, store
from screens.editor import landmark_editor
from screens.language import N_, _
from screens.samples import SCREEN_LONGEST
from screens.uploads import consent_fields, drafts, standing_consent
from vision.errors import UnreadablePhoto
from vision.images import MAX_BYTES, Photo, crop, encode_jpeg, read_photo, reduced
from vision.landmarks import LandmarkSet

_DOLL, _PEOPLE = N_("A doll and no person"), N_("People")
TYPES = ["jpg", "jpeg", "png", "webp", "tif", "tiff", "heic", "heif"]


@dataclass(frozen=True, kw_only=True)
class _Draft:
    """An upload that was read and not kept yet."""

    upload_id: str
    token: str
    width: int
    height: int


def show() -> None:
    """Draw the form."""
    look.quiet(
        _(
            "A doll photo, or a photo of people who agreed to it. No pictures from the internet. Nothing is stored before you "
            "press keep; then the picture is kept without place, time, camera or file name."
        )
    )
    upload = st.file_uploader(
        _("Photo file"),
        type=TYPES,
        key=f"upload-{st.session_state.get('uploads_kept', 0)}",
        max_upload_size=MAX_BYTES // 2**20,
        help=_("JPEG, PNG, WebP, TIFF or HEIC, up to {megabytes} MB and 40 million pixels.").format(
            megabytes=MAX_BYTES // 2**20
        ),
    )
    if upload is None:
        _forget_draft()
        return
    try:
        draft = _draft(upload)
    except UnreadablePhoto as refused:
        st.error(f"{refused}")
        return
    _keep_form(upload, draft)


def _draft(upload: Any) -> _Draft:
    known = st.session_state.get("draft")
    if isinstance(known, _Draft) and known.upload_id == upload.file_id:
        return known
    _forget_draft()
    with st.spinner(_("Reading the photo")):
        photo = read_photo(upload.getvalue())
        token = drafts.keep(encode_jpeg(reduced(photo, SCREEN_LONGEST), quality=88), me().id)
    draft = _Draft(upload_id=upload.file_id, token=token, width=photo.width, height=photo.height)
    st.session_state["draft"] = draft
    return draft


def _forget_draft() -> None:
    known = st.session_state.pop("draft", None)
    if isinstance(known, _Draft):
        drafts.forget(known.token)


@st.fragment
def _keep_form(upload: Any, draft: _Draft) -> None:
    left, right = st.columns([3, 2], gap="large")
    with left:
        look.item(
            _("Crop"),
            _("Mark the part to keep: leave out wristbands, tattoos, name cards, screens and other people's faces."),
        )
        editor = landmark_editor(
            key=f"crop-{draft.token}",
            photo_url=f"/drafts/{draft.token}/screen.jpg",
            width=draft.width,
            height=draft.height,
            landmarks=LandmarkSet(),
            revision=0,
            mode="box",
            ask=(),
            ask_yaw=False,
            box_label=_("Mark the part to keep"),
            height_px=480,
        )
    with right:
        title = st.text_input(
            _("Title"), max_chars=80, placeholder=_("for example: Doll B, cradle hold, from the side")
        )
        shows = st.radio(
            _("What does it show?"), [_DOLL, _PEOPLE], index=None, format_func=_, key=f"shows-{draft.token}"
        )
        consent = _doll() if shows == _DOLL else _people(draft) if shows == _PEOPLE else None
        if st.button(_("Keep this photo"), type="primary", disabled=consent is None or not title.strip()):
            _keep(upload, editor.box if editor else None, title.strip(), consent)
        if consent is None or not title.strip():
            look.quiet(_("To keep it, give it a title and say what it shows."))


def _doll() -> DollDeclaration | None:
    if st.checkbox(_("I declare that this photo shows a doll or a teaching model, and no person.")):
        return DollDeclaration(confirmed=True)
    return None


def _people(draft: _Draft) -> NewConsent | str | None:
    chosen = standing_consent.choose(draft.token)
    if chosen is not None:
        covers = _("This consent covers this photo, and faces that must not be shown are covered or outside the crop.")
        return chosen if st.checkbox(covers) else None
    return consent_fields.ask_and_sign(draft.token, many=False)


def _cropped(photo: Photo, box: tuple[float, float, float, float] | None) -> Photo:
    if box is None:
        return photo
    left, top, width, height = (round(part) for part in box)
    return crop(photo, left, top, min(width, photo.width - left), min(height, photo.height - top))


def _keep(
    upload: Any,
    box: tuple[float, float, float, float] | None,
    title: str,
    consent: NewConsent | DollDeclaration | str | None,
) -> None:
    if consent is None:
        return
    try:
        with st.spinner(_("Keeping the photo")):
            photo = _cropped(read_photo(upload.getvalue()), box)
            add_photo(
                store(),
                me(),
                jpeg=encode_jpeg(photo),
                screen_jpeg=encode_jpeg(reduced(photo, SCREEN_LONGEST), quality=90),
                width=photo.width,
                height=photo.height,
                title=title,
                consent=consent,
            )
    except (UnreadablePhoto, RecordsError) as refused:
        st.error(_("{refused} Nothing was stored.").format(refused=refused))
        return
    _forget_draft()
    st.session_state["uploads_kept"] = st.session_state.get("uploads_kept", 0) + 1
    st.session_state["said"] = _("“{title}” is kept. It is among the photos above.").format(title=title)
    st.rerun()
