"""The form with which a consent is put on record before there is a photo."""

from collections.abc import Callable
from datetime import timedelta

import streamlit as st

from records.classroom.classes import my_classes
from records.consent.consents import NewConsent, Scope
from records.consent.ledger import put_on_record
from records.errors import RecordsError
from screens import look
from screens.data import me, store
from screens.ledger.consent_form_words import FORM_VERSION
from screens.ledger.words import USES
from screens.uploads.adding import MAX_MONTHS

ANY_CLASS = "Whichever class is given the photos"


def show() -> None:
    """Draw the form; once the consent is on record the page says so and the form is empty again."""
    round = st.session_state.get("consents-added", 0)
    look.notice(
        "Before you write it down",
        "It is voluntary, care does not depend on it, and it is not asked in labour nor by the treating clinician alone. The "
        "adult agrees for their own body; someone with authority agrees for the child's image. Your school's form and local "
        "law decide. No names in here: a label says who is shown.",
    )
    with st.form(f"consent-{round}", border=False):
        asked = _fields(round)
        pressed = st.form_submit_button("Put on record", type="primary")
    if not pressed:
        return
    try:
        made = put_on_record(store(), me(), asked())
    except RecordsError as refused:
        st.error(f"{refused} Nothing was put on record.")
        return
    st.session_state["consents-added"] = round + 1
    st.session_state["ledger-said"] = f"The consent for “{made.shown}” is on record. Photos can now be added under it."
    st.rerun()


def _fields(round: int) -> Callable[[], NewConsent]:
    """Draw the fields; returns what makes a consent of them, which raises InvalidRecord."""
    left, right = st.columns(2, gap="large")
    with left:
        shown = st.text_input(
            "Label for who is shown, not a name", max_chars=80, placeholder="for example: pair 3", key=f"shown-{round}"
        )
        given_by = st.text_input(
            "Who agreed, in what relation", max_chars=80, placeholder="for example: the adult shown", key=f"by-{round}"
        )
        authority = st.text_input(
            "For the child: who has authority, in what relation",
            max_chars=80,
            placeholder="for example: the adult shown, its parent",
            key=f"authority-{round}",
        )
        covered = st.checkbox("Faces that must not be shown will be covered or left out", key=f"covered-{round}")
    with right:
        scopes = st.multiselect(
            "Agreed uses",
            list(Scope),
            default=[Scope.OWN_PRACTICE],
            format_func=lambda scope: USES[scope].capitalize(),
            key=f"scopes-{round}",
        )
        titles = {None: ANY_CLASS} | {group.id: group.title for group in my_classes(store(), me())}
        class_id = st.selectbox(
            "If a class is agreed to, which", list(titles), format_func=titles.__getitem__, key=f"class-{round}"
        )
        today = store().today()
        given = st.date_input("Agreed on", value=today, max_value=today, key=f"given-{round}")
        until = st.date_input(
            "Agreed until",
            value=today + timedelta(days=365),
            min_value=today,
            max_value=today + timedelta(days=31 * MAX_MONTHS),
            key=f"until-{round}",
        )
        version = st.text_input("Version of the form", value=FORM_VERSION, max_chars=80, key=f"version-{round}")

    def asked() -> NewConsent:
        return NewConsent(
            shown=shown,
            given_by=given_by,
            authority=authority,
            scopes=frozenset(scopes),
            faces_covered=covered,
            given_on=given,
            expires_on=until,
            form_version=version,
            class_id=class_id if Scope.OWN_CLASS in scopes else None,
        )

    return asked
