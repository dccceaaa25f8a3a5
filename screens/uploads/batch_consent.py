"""What a whole batch of photos shows and who agreed to it: one declaration or one consent for all of them."""

from datetime import date, timedelta

import streamlit as st

from records.consent.consents import DollDeclaration, NewConsent, Scope
from records.errors import RecordsError
from screens import look
from screens.ledger.consent_form_words import FORM_VERSION
from screens.uploads.adding import MAX_MONTHS

_DOLL, _PEOPLE = "Dolls or teaching models, and no person", "People who agreed"
_SCOPES = {
    Scope.OWN_PRACTICE: "Own practice on this computer",
    Scope.OWN_CLASS: "A class",
    Scope.TEACHING_SETS: "Teaching sets for others",
    Scope.PRINTED: "Printed or exported material",
}


def shows_people(key: str) -> bool | None:
    """Ask what all photos of the batch show; None while it is not said."""
    said = st.radio("What do these photos show?", [_DOLL, _PEOPLE], index=None, key=f"shows-{key}")
    return None if said is None else said == _PEOPLE


def doll(key: str) -> DollDeclaration | None:
    """The declaration for all of them; None until it is made."""
    shown = st.text_input("Label for the doll", value="doll", max_chars=80, key=f"doll-{key}")
    said = st.checkbox(
        "I declare that every one of these photos shows a doll or a teaching model, and no person.",
        key=f"declared-{key}",
    )
    return DollDeclaration(confirmed=True, shown=shown) if said and shown.strip() else None


def people(key: str) -> NewConsent | None:
    """The one consent that covers all of them; None until everything is said."""
    look.notice(
        "One consent for all of these photos",
        "Put photos of different people into batches of their own. It is voluntary, care does not depend on it, and it is "
        "not asked in labour nor by the treating clinician alone. Your school's form and local law decide.",
    )
    shown = st.text_input(
        "Label for who is shown, not a name", max_chars=80, placeholder="for example: pair 3", key=f"shown-{key}"
    )
    given_by = st.text_input(
        "Who agreed, in what relation",
        max_chars=80,
        placeholder="for example: the adult shown",
        key=f"by-{key}",
    )
    authority = st.text_input(
        "For the child: who has authority, in what relation",
        max_chars=80,
        placeholder="for example: the adult shown, its parent",
        key=f"authority-{key}",
    )
    scopes = st.multiselect(
        "Agreed uses",
        list(_SCOPES),
        default=[Scope.OWN_PRACTICE, Scope.TEACHING_SETS],
        format_func=_SCOPES.__getitem__,
        key=f"scopes-{key}",
    )
    today = date.today()
    given = st.date_input("Agreed on", value=today, max_value=today, key=f"given-{key}")
    until = st.date_input(
        "Agreed until",
        value=today + timedelta(days=365),
        min_value=today,
        max_value=today + timedelta(days=31 * MAX_MONTHS),
        key=f"until-{key}",
    )
    covered = st.checkbox(
        "In every one of these photos, faces that must not be shown are covered or outside the part that is kept.",
        key=f"covered-{key}",
    )
    signed = st.checkbox("I hold a consent that covers all of these photos and these uses today.", key=f"signed-{key}")
    if not (shown.strip() and given_by.strip() and authority.strip() and scopes and covered and signed):
        return None
    try:
        return NewConsent(
            shown=shown.strip(),
            given_by=given_by.strip(),
            authority=authority.strip(),
            scopes=frozenset(scopes),
            faces_covered=True,
            given_on=given,
            expires_on=until,
            form_version=FORM_VERSION,
        )
    except RecordsError as refused:
        st.error(str(refused))
        return None
