"""The scan of a signed form, under its line of the ledger: added, saved again, removed."""

from typing import Any

import streamlit as st

from records.consent.ledger import LedgerLine
from records.consent.scans import MAX_SCAN_BYTES, add_scan, remove_scan
from records.errors import RecordsError
from screens import look
from screens.data import me, store
from screens.language import _
from vision.errors import UnreadablePhoto
from vision.images import encode_jpeg, read_photo


def show(line: LedgerLine) -> None:
    """Draw what can be done with the scan of this line."""
    consent_id = line.consent.id
    look.quiet(
        _(
            "The scan bears names and a signature. It is kept apart from the photos, and only whoever put this consent on record "
            "and educators can save it. It stays after a withdrawal, as proof of the consent, until you remove it."
        )
    )
    if line.has_scan:
        look.download(f"/consent-scans/{consent_id}/form", _("Save the scan"))
        if st.button(_("Remove the scan"), key=f"unscan-{consent_id}"):
            remove_scan(store(), me(), consent_id)
            st.session_state["ledger-said"] = _("The scan of the form for “{shown}” is removed.").format(
                shown=line.consent.shown
            )
            st.rerun()
    upload = st.file_uploader(
        _("Put another in its place") if line.has_scan else _("Scan or photo of the signed form"),
        type=["pdf", "jpg", "jpeg", "png"],
        key=f"scan-{consent_id}-{st.session_state.get('scans-added', 0)}",
        max_upload_size=MAX_SCAN_BYTES // 2**20,
    )
    if upload is not None and st.button(_("Keep this scan"), key=f"keep-scan-{consent_id}", type="primary"):
        _keep(line, upload)


def _keep(line: LedgerLine, upload: Any) -> None:
    try:
        add_scan(store(), me(), line.consent.id, without_more_than_pixels(upload.getvalue()))
    except (RecordsError, UnreadablePhoto) as refused:
        st.error(_("{refused} Nothing was stored.").format(refused=refused))
        return
    st.session_state["scans-added"] = st.session_state.get("scans-added", 0) + 1
    st.session_state["ledger-said"] = _("The scan of the form for “{shown}” is kept.").format(shown=line.consent.shown)
    st.rerun()


def without_more_than_pixels(data: bytes) -> bytes:
    """A photographed form rebuilt from its pixels, without place and camera; a PDF as it is. Raises UnreadablePhoto."""
    return data if data.startswith(b"%PDF-") or len(data) > MAX_SCAN_BYTES else encode_jpeg(read_photo(data))
