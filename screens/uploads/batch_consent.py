"""What a whole batch of photos shows: one answer and one declaration for all of them."""

import streamlit as st

from records.consent.consents import DollDeclaration

_DOLL, _PEOPLE = "Dolls or teaching models, and no person", "People who agreed"


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
