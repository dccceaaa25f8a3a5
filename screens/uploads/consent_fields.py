"""What is asked about a consent for photos of people: the same questions for one photo, for many, and before there is any."""

from dataclasses import dataclass
from datetime import date, timedelta

import streamlit as st

from records.consent.consents import NewConsent, Scope
from records.consent.retention import kept_until
from records.errors import RecordsError
from screens import look
from screens.data import me, store
from screens.language import _
from screens.ledger.consent_form_words import FORM_VERSION
from screens.ledger.words import USES

MAX_MONTHS = 24


@dataclass(frozen=True, kw_only=True)
class Said:
    """What was said so far; texts as typed, `class_id` None for whichever class is given the photos."""

    shown: str
    given_by: str
    authority: str
    scopes: frozenset[Scope]
    class_id: str | None
    given_on: date
    expires_on: date

    def consent(self, *, faces_covered: bool, form_version: str = FORM_VERSION) -> NewConsent:
        """The consent that this makes. Raises InvalidRecord."""
        return NewConsent(
            shown=self.shown.strip(),
            given_by=self.given_by.strip(),
            authority=self.authority.strip(),
            scopes=self.scopes,
            faces_covered=faces_covered,
            given_on=self.given_on,
            expires_on=self.expires_on,
            form_version=form_version,
            class_id=self.class_id if Scope.OWN_CLASS in self.scopes else None,
        )


def ask(key: str, *, scopes: tuple[Scope, ...] = (Scope.OWN_PRACTICE,), in_form: bool = False) -> Said:
    """Draw the questions.

    Parameters
    ----------
    key : str
        Tells them from others of the same page.
    scopes : tuple of Scope
        Chosen at the beginning.
    in_form : bool
        In a form nothing is known before it is sent, so the class is asked for in any case; and there is room for two columns.
    """
    left, right = st.columns(2, gap="large") if in_form else (st.container(), st.container())
    with left:
        shown = st.text_input(
            _("Label for who is shown, not a name"),
            max_chars=80,
            placeholder=_("for example: pair 3"),
            key=f"shown-{key}",
        )
        given_by = st.text_input(
            _("Who agreed, in what relation"),
            max_chars=80,
            placeholder=_("for example: the adult shown"),
            key=f"by-{key}",
        )
        authority = st.text_input(
            _("For the child: who has authority, in what relation"),
            max_chars=80,
            placeholder=_("for example: the adult shown, its parent"),
            key=f"authority-{key}",
        )
    with right:
        chosen = st.multiselect(
            _("Agreed uses"),
            list(Scope),
            default=list(scopes),
            format_func=lambda scope: _(USES[scope]).capitalize(),
            key=f"scopes-{key}",
        )
        class_id = _class(key) if in_form or Scope.OWN_CLASS in chosen else None
        given_on, expires_on = _days(key)
    return Said(
        shown=shown,
        given_by=given_by,
        authority=authority,
        scopes=frozenset(chosen),
        class_id=class_id,
        given_on=given_on,
        expires_on=expires_on,
    )


def _class(key: str) -> str | None:
    titles: dict[str | None, str] = {None: _("Whichever class is given the photos")}
    titles |= {group.class_id: group.title for group in kept_until(store(), me())}
    return st.selectbox(
        _("If a class is agreed to, which"), list(titles), format_func=titles.__getitem__, key=f"class-{key}"
    )


def _days(key: str) -> tuple[date, date]:
    today = store().today()
    given = st.date_input(_("Agreed on"), value=today, max_value=today, key=f"given-{key}")
    until = st.date_input(
        _("Agreed until"),
        value=today + timedelta(days=365),
        min_value=today,
        max_value=today + timedelta(days=31 * MAX_MONTHS),
        key=f"until-{key}",
    )
    return given, until


def ask_and_sign(key: str, *, many: bool) -> NewConsent | None:
    """Draw notice, questions and both statements; None until everything is said, authority for the child included."""
    if many:
        look.notice(
            _("One consent for all of these photos"),
            _(
                "Put photos of different people into batches of their own. It is voluntary, care does not depend on it, and it "
                "is not asked in labour nor by the treating clinician alone. Your school's form and local law decide."
            ),
        )
    else:
        look.notice(
            _("Consent comes first"),
            _(
                "It is voluntary, care does not depend on it, and it is not asked in labour nor by the treating clinician alone. "
                "The adult agrees for their own body and, with parental authority, for the child's image. It says who sees the "
                "photo, where, until when, that software measures it, that it trains no model, that the measured baby stays "
                "recognisable, how to withdraw, and what cannot be called back. Your school's form and local law decide."
            ),
        )
    said = ask(key, scopes=(Scope.OWN_PRACTICE, Scope.TEACHING_SETS) if many else (Scope.OWN_PRACTICE,))
    covered = st.checkbox(_covered(many), key=f"covered-{key}")
    signed = st.checkbox(_signed(many), key=f"signed-{key}")
    texts = (said.shown, said.given_by, said.authority)
    if not (all(text.strip() for text in texts) and said.scopes and covered and signed):
        return None
    try:
        return said.consent(faces_covered=True)
    except RecordsError as refused:
        st.error(str(refused))
        return None


def _covered(many: bool) -> str:
    if many:
        return _(
            "In every one of these photos, faces that must not be shown are covered or outside the part that is kept."
        )
    return _("Faces that must not be shown are covered or outside the crop")


def _signed(many: bool) -> str:
    if many:
        return _("I hold a consent that covers all of these photos and these uses today.")
    return _("I hold a consent for this photo that says all of the above and covers these uses today.")
