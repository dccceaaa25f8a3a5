"""Sets that leave and come: exporting with a word on to whom, worksheets on paper, taking a bundle in."""

import streamlit as st

from records.bundles import MAX_BUNDLE_BYTES, bundles_of, make_bundle, take_in, travelling
from records.errors import RecordsError
from records.teaching_sets import VersionRecord
from screens import look, places
from screens.data import me, store
from screens.language import _, _n
from screens.local_time import moment_words
from screens.samples import SCREEN_LONGEST
from vision.images import encode_jpeg, read_photo, reduced


def export_form(version: VersionRecord) -> None:
    """What would travel, to whom it goes, and the bundles that were made."""
    told = travelling(store(), me(), version.id)
    look.quiet(
        _(
            "The file holds photos, points and keys, and goes to another school or another computer with this program. Only "
            "photos whose consent covers teaching sets and exported material go along. Write down to whom it goes: when a consent "
            "is "
            "withdrawn, this is how they can be told. What has left cannot be called back."
        )
    )
    if told.left_out:
        look.listing(
            _("Stays here:"),
            (_("Photo {position}: {why}").format(position=left.position, why=left.why) for left in told.left_out),
        )
    if not told.n_photos:
        st.info(_("No photo of this set may travel, so there is nothing to export."))
    else:
        _make(version, told.n_photos)
    made = bundles_of(store(), me(), version.id)
    for bundle in made:
        with st.container(border=True):
            n = _n("{n} photo", "{n} photos", bundle.n_photos).format(n=bundle.n_photos)
            look.quiet(
                _("For {to_whom}, {n}, made on {when}.").format(
                    to_whom=bundle.to_whom, n=n, when=moment_words(bundle.at)
                )
            )
            look.download(
                f"/set-bundles/{bundle.id}/teaching-set.zip",
                _("Save the file for {to_whom}").format(to_whom=bundle.to_whom),
            )


def _make(version: VersionRecord, n_photos: int) -> None:
    with st.form(f"export-{version.id}", border=False):
        to_whom = st.text_input(
            _("To whom it goes"),
            max_chars=80,
            placeholder=_("for example: Hollowmere, second site, the midwifery teachers"),
        )
        if st.form_submit_button(
            _n("Make the file with {n} photo", "Make the file with {n} photos", n_photos).format(n=n_photos)
        ):
            try:
                with st.spinner(_("Putting the file together")):
                    make_bundle(store(), me(), version.id, to_whom=to_whom)
            except RecordsError as refused:
                st.error(str(refused))


def worksheets(version_id: str) -> None:
    """The two PDFs."""
    look.quiet(
        _("One page a photo, A4. Only photos whose consent covers printed material are printed; the others are listed.")
    )
    row = st.container(horizontal=True)
    with row:
        look.download(f"/set-worksheets/{version_id}/blank.pdf", _("Worksheet to fill in (PDF)"))
        look.download(f"/set-worksheets/{version_id}/key.pdf", _("With the key (PDF)"))


def take_in_form() -> None:
    """Choose a file; all of it is checked before any of it is stored."""
    look.quiet(
        _(
            "A file that another school made with this program. Everything in it is checked first; either the whole set comes in, "
            "or nothing does. Its photos keep the consent that they came with."
        )
    )
    file = st.file_uploader(
        _("Teaching set (zip)"),
        type=["zip"],
        key=f"bundle-{st.session_state.get('bundles_taken', 0)}",
        max_upload_size=MAX_BUNDLE_BYTES // 2**20,
    )
    if file is None or not st.button(_("Check it and take it in"), type="primary"):
        return
    try:
        with st.spinner(_("Checking the file")):
            taken = take_in(store(), me(), file, screen_copy=_screen_copy)
    except RecordsError as refused:
        st.error(_("{refused} Nothing was taken in.").format(refused=refused))
        return
    st.session_state["bundles_taken"] = st.session_state.get("bundles_taken", 0) + 1
    here = _n("“{title}” is here, with {n} photo.", "“{title}” is here, with {n} photos.", taken.version.n_photos)
    told = [here.format(title=taken.version.title, n=taken.version.n_photos)]
    left = _("Photo {n} had stayed behind: {why}")
    told += [left.format(n=one.position, why=_(one.why)) for one in taken.left_out]
    st.session_state["said"] = " ".join(told)
    places.go("set", version=taken.version.id)


def _screen_copy(jpeg: bytes) -> bytes:
    return encode_jpeg(reduced(read_photo(jpeg), SCREEN_LONGEST), quality=90)
