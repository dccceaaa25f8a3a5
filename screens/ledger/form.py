"""The form with which a consent is put on record before there is a photo."""

from collections.abc import Callable

import streamlit as st

from records.consent.consents import NewConsent
from records.consent.ledger import put_on_record
from records.errors import RecordsError
from screens import look
from screens.data import me, store
from screens.language import _
from screens.ledger.consent_form_words import FORM_VERSION
from screens.uploads import consent_fields


def show() -> None:
    """Draw the form; once the consent is on record the page says so and the form is empty again."""
    round = st.session_state.get("consents-added", 0)
    look.notice(
        _("Before you write it down"),
        _(
            "It is voluntary, care does not depend on it, and it is not asked in labour nor by the treating clinician alone. The "
            "adult agrees for their own body; someone with authority agrees for the child's image. Your school's form and local "
            "law decide. No names in here: a label says who is shown."
        ),
    )
    with st.form(f"consent-{round}", border=False):
        asked = _fields(round)
        pressed = st.form_submit_button(_("Put on record"), type="primary")
    if not pressed:
        return
    try:
        made = put_on_record(store(), me(), asked())
    except RecordsError as refused:
        st.error(_("{refused} Nothing was put on record.").format(refused=refused))
        return
    st.session_state["consents-added"] = round + 1
    st.session_state["ledger-said"] = _(
        "The consent for “{shown}” is on record. Photos can now be added under it."
    ).format(shown=made.shown)
    st.rerun()


def _fields(round: int) -> Callable[[], NewConsent]:
    """Draw the fields; returns what makes a consent of them, which raises InvalidRecord."""
    said = consent_fields.ask(str(round), in_form=True)
    covered = st.checkbox(_("Faces that must not be shown will be covered or left out"), key=f"covered-{round}")
    version = st.text_input(_("Version of the form"), value=FORM_VERSION, max_chars=80, key=f"version-{round}")
    return lambda: said.consent(faces_covered=covered, form_version=version)
