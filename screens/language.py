"""The language of a page. Every sentence that a screen says goes through `_` or `_n`; `screens/locale` holds them all.

A sentence is marked whole, with named places for what varies, so that a translator may put them in another order:

    _("{n} of {total} signs are answered").format(n=3, total=20)
    _n("{n} photo", "{n} photos", n).format(n=n)

A constant that is made when a module loads is marked with `N_` and goes through `_` where it is shown. What `records`
refuses is an error in English; `said` gives it in the reader's language.

The language is the one that the person chose (a cookie), else what the browser asks for, else English. A page of
Streamlit keeps it for the tab, a route for the request; a thread of its own says nothing to anyone and so has none.
`python tests/make_catalogues.py` collects the sentences anew.
"""

import gettext
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path
from string import Formatter
from types import MappingProxyType
from typing import TypeVar

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

FOLDER = Path(__file__).parent / "locale"
DOMAIN = "messages"
#: What the editors in the browser say; they take all of it along.
BROWSER_DOMAIN = "browser"
#: What is raised with something filled in.
REFUSALS_DOMAIN = "refusals"
SOURCE_LANGUAGE = "en"
#: Each as those who speak it call it; another one is a folder in `screens/locale` and a line here.
LANGUAGES: Mapping[str, str] = MappingProxyType({"en": "English", "de": "Deutsch"})
COOKIE = "latch_and_line_language"
_KEPT = "language"

K = TypeVar("K")

_of_request: ContextVar[str] = ContextVar("language of this request", default=SOURCE_LANGUAGE)


def N_(sentence: str) -> str:  # noqa: N802 - the name that gettext's tools look for
    """Mark a sentence that is translated later, where it is shown."""
    return sentence


def _(sentence: str) -> str:
    """The sentence in the language of this page, or as it stands where nobody has translated it yet.

    A sentence of `vision` or `rubric` that was filled in already brings its pattern along and is filled in anew.
    """
    pattern = getattr(sentence, "template", None)
    if pattern is not None:
        fields = {n: _(part) if isinstance(part, str) else part for n, part in getattr(sentence, "fields", {}).items()}
        return _(pattern).format(**fields) if fields else _(pattern)
    # To gettext the empty sentence is the head of the catalogue.
    return _catalogue(DOMAIN, current()).gettext(sentence) if sentence else ""


def _n(singular: str, plural: str, n: int) -> str:
    """The same for a sentence that depends on a number."""
    return _catalogue(DOMAIN, current()).ngettext(singular, plural, n)


def said(error: Exception) -> str:
    """What an error of `records`, `vision` or `rubric` says, in the language of this page.

    See Also
    --------
    told : the same for a sentence that `records` hands over without raising it
    """
    return told(str(error))


def told(english: str) -> str:
    """What `records` says in a finished English sentence, in the language of this page.

    A sentence that was filled in is found again by its pattern; what filled it is said in the language of the page where it
    is one of our own words, and else stays as it is.
    """
    for pattern, sentence in _refusals(current()):
        if found := pattern.fullmatch(english):
            return sentence.format(**{name: _(part) for name, part in found.groupdict().items()})
    return _(english)


class Spoken(Mapping[K, str]):
    """A table of sentences marked with `N_`, read in the language of the page.

    Parameters
    ----------
    english : mapping
        As the sentences stand in the sources.
    capital : bool
        Whether each shall begin with a capital, where the sources use them within a sentence.
    """

    def __init__(self, english: Mapping[K, str], *, capital: bool = False) -> None:
        self.english = MappingProxyType(dict(english))
        self._capital = capital

    def __getitem__(self, key: K) -> str:
        """The sentence in the language of the page."""
        text = _(self.english[key])
        return text[:1].upper() + text[1:] if self._capital else text

    def __iter__(self) -> Iterator[K]:
        """The keys in their order."""
        return iter(self.english)

    def __len__(self) -> int:
        """How many there are."""
        return len(self.english)


def browser_words() -> dict[str, str | list[str]]:
    """All that the editors in the browser say: English -> the language of this page; empty in English.

    Under the singular of a sentence that depends on a number stand its forms, that for one first.
    """
    return _browser_words(current())


def current() -> str:
    """The language of this page or this request, as an ISO 639-1 code."""
    if get_script_run_ctx(suppress_warning=True) is None:
        return _of_request.get()
    if _KEPT not in st.session_state:
        choose()
    return str(st.session_state[_KEPT])


def choose() -> None:
    """Settle the language of this page for as long as its tab is open; what was settled before stays."""
    if st.session_state.get(_KEPT) in LANGUAGES:
        return
    cookie, asked = st.context.cookies.get(COOKIE), st.context.headers.get("Accept-Language")
    # Where there is no browser (Streamlit's own test runner) these are stand-ins of some kind.
    st.session_state[_KEPT] = language_for(
        cookie if isinstance(cookie, str) else None, asked if isinstance(asked, str) else ""
    )


def language_for(chosen: str | None, accepted: str) -> str:
    """What was chosen, else the first language that a browser accepts and that we have, else English.

    Examples
    --------
    >>> language_for(None, "de-CH,de;q=0.9,en;q=0.8"), language_for("en", "de"), language_for("xx", "fr, *;q=0.5")
    ('de', 'en', 'en')
    >>> language_for(None, "en;q=0.5, de;q=0.7"), language_for(None, "de;q=0, en")
    ('de', 'en')
    """
    if chosen in LANGUAGES:
        return str(chosen)
    wishes = []
    for place, part in enumerate(accepted.split(",")):
        name, _sep, rest = part.strip().partition(";")
        quality = re.fullmatch(r"\s*q=([01](?:\.\d{0,3})?)\s*", rest) if rest else None
        weight = float(quality[1]) if quality else 0.0 if rest else 1.0
        if weight > 0 and (code := name.split("-")[0].lower()) in LANGUAGES:
            wishes.append((-weight, place, code))
    return min(wishes)[2] if wishes else SOURCE_LANGUAGE


@contextmanager
def spoken(language: str) -> Iterator[None]:
    """Answer in this language: for the routes, which run outside a page."""
    token = _of_request.set(language if language in LANGUAGES else SOURCE_LANGUAGE)
    try:
        yield
    finally:
        _of_request.reset(token)


@cache
def _catalogue(domain: str, language: str) -> gettext.NullTranslations:
    return gettext.translation(domain, FOLDER, languages=[language], fallback=True)


@cache
def _refusals(language: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    """What is raised with places in it: the pattern of each English sentence, the longest first, and its translation."""
    held = getattr(_catalogue(REFUSALS_DOMAIN, language), "_catalog", {})
    return tuple((_as_pattern(english), held[english]) for english in sorted(held, key=len, reverse=True) if english)


def _as_pattern(sentence: str) -> re.Pattern[str]:
    parts = Formatter().parse(sentence)
    return re.compile(
        "".join(re.escape(text) + (f"(?P<{name}>.+?)" if name else "") for text, name, *_rest in parts), re.S
    )


@cache
def _browser_words(language: str) -> dict[str, str | list[str]]:
    # The one place where the whole of a catalogue is wanted; gettext has no public way to it.
    held = getattr(_catalogue(BROWSER_DOMAIN, language), "_catalog", {})
    words: dict[str, str | list[str]] = {key: text for key, text in held.items() if isinstance(key, str) and key}
    forms = sorted(key for key in held if isinstance(key, tuple))
    for singular in {one for one, _form in forms}:
        words[singular] = [held[one, form] for one, form in forms if one == singular]
    return words
