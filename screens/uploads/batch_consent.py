"""What a whole batch of photos shows: one answer and one declaration for all of them."""

import streamlit as st

from records.consent.consents import DollDeclaration
from screens.language import N_, _

_DOLL, _PEOPLE = N_("Dolls or teaching models, and no person"), N_("People who agreed")


def shows_people(key: str) -> bool | None:
    """Ask what all photos of the batch show; None while it is not said."""
    said = st.radio(_("What do these photos show?"), [_DOLL, _PEOPLE], index=None, format_func=_, key=f"shows-{key}")
    return None if said is None else said == _PEOPLE


def doll(key: str) -> DollDeclaration | None:
    """The declaration for all of them; None until it is made."""
    shown = st.text_input(_("Label for the doll"), value="doll", max_chars=80, key=f"doll-{key}")
    said = st.checkbox(
        _("I declare that every one of these photos shows a doll or a teaching model, and no person."),
        key=f"declared-{key}",
    )
    return DollDeclaration(confirmed=True, shown=shown) if said and shown.strip() else None
