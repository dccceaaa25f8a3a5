"""Choosing a consent that is on record already, where a photo of people is added."""

import streamlit as st

from records.consent.consents import Kind, Scope
from records.consent.ledger import own_consents
from screens import look
from screens.data import me, store
from screens.language import N_, _
from screens.ledger.words import facts, state

A_NEW_ONE = N_("A consent that is not on record yet")


def choose(key: str, *, use: Scope = Scope.OWN_PRACTICE) -> str | None:
    """Ask which of the person's consents in force covers the photos; None for a new one, and where there is none.

    Parameters
    ----------
    key : str
        Tells this question from others on the page.
    use : Scope
        Only consents that cover this use are offered.
    """
    offered = {
        line.consent.id: line
        for line in own_consents(store(), me())
        if line.stands and line.consent.kind == Kind.PERSON and use in line.consent.scopes
    }
    if not offered:
        return None
    chosen = st.selectbox(
        _("Which consent covers it?"),
        [None, *offered],
        format_func=lambda one: _(A_NEW_ONE) if one is None else f"{offered[one].consent.shown}, {state(offered[one])}",
        key=f"standing-{key}",
    )
    if chosen is not None:
        look.quiet(". ".join(facts(offered[chosen])) + ".")
    return chosen
