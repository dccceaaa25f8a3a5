"""The language of a page. Every sentence that a screen says goes through `_` or `_n`; `screens/locale` holds them all.

A sentence is marked whole, with named places for what varies, so that a translator may put them in another order:

    _("{n} of {total} signs are answered").format(n=3, total=20)
    _n("{n} photo", "{n} photos", n).format(n=n)

A constant that is made when a module loads is marked with `N_` and goes through `_` where it is shown.
"""

import gettext
from functools import cache
from pathlib import Path

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

FOLDER = Path(__file__).parent / "locale"
DOMAIN = "messages"
SOURCE_LANGUAGE = "en"


def N_(sentence: str) -> str:  # noqa: N802 - the name that gettext's tools look for
    """Mark a sentence that is translated later, where it is shown."""
    return sentence


def _(sentence: str) -> str:
    """The sentence in the language of this page, or as it stands where nobody has translated it yet."""
    return _catalogue(current()).gettext(sentence)


def _n(singular: str, plural: str, n: int) -> str:
    """The same for a sentence that depends on a number."""
    return _catalogue(current()).ngettext(singular, plural, n)


def current() -> str:
    """The language of this page, as an ISO 639-1 code."""
    if get_script_run_ctx(suppress_warning=True) is None:
        return SOURCE_LANGUAGE
    return str(st.session_state.get("language", SOURCE_LANGUAGE))


@cache
def _catalogue(language: str) -> gettext.NullTranslations:
    return gettext.translation(DOMAIN, FOLDER, languages=[language], fallback=True)
