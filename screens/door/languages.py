"""The language of a request, and the form with which a person chooses another one."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from records.store import Store
from screens.door.cookies import cookies_of, header, is_secure, set_cookie
from screens.language import COOKIE, LANGUAGES, language_for

_DAYS = 365
#: Pages of the door that can be opened by their address; a choice made on another one leads to the first.
_OPEN_PAGES = frozenset({"/sign-in", "/sign-out", "/first-account", "/password", "/join"})


def language_of(scope: Mapping[str, Any]) -> str:
    """The language in which a request is answered: what was chosen in this browser, else what it asks for, else English."""
    return language_for(cookies_of(scope).get(COOKIE), header(scope, b"accept-language"))


def choose_language(request: Request, store: Store, sent: dict[str, str] | None) -> Response:  # noqa: ARG001
    """Keep the choice in a cookie, and go back to the page on which it was made."""
    sent = sent or {}
    answer = RedirectResponse(own_address(sent.get("back", "")), status_code=303, headers={"Cache-Control": "no-store"})
    if sent.get("language") in LANGUAGES:
        cookie = set_cookie(COOKIE, sent["language"], secure=is_secure(request.scope), days=_DAYS)
        answer.raw_headers.append((b"set-cookie", cookie))
    return answer


def where_to_come_back(request: Request) -> str:
    """The address to which a choice of language on this page of the door leads back."""
    return request.url.path if request.url.path in _OPEN_PAGES else "/sign-in"


def own_address(asked: str) -> str:
    """An address of this program as it was sent by a form; the first page where it is none.

    Examples
    --------
    >>> own_address("/practise?attempt=a1"), own_address("//elsewhere.example"), own_address("https://elsewhere.example/")
    ('/practise?attempt=a1', '/', '/')
    """
    parts = urlsplit(asked) if asked.isprintable() and asked.isascii() else urlsplit("")
    if parts.scheme or parts.netloc or not parts.path.startswith("/") or asked.startswith("//") or "\\" in asked:
        return "/"
    return asked
