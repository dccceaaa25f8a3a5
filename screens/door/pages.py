"""Draws the door's pages from the templates beside this file; whatever is filled in is escaped."""

from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from records.identity.passwords import LONGEST, SHORTEST
from records.store import Store
from screens.door.cookies import MARK, SESSION, cookies_of, form_token, is_mark, is_secure, new_mark, set_cookie
from screens.door.languages import where_to_come_back
from screens.door.visitor import secret_of
from screens.language import LANGUAGES, _, current

_HERE = Path(__file__).resolve().parent
_templates = Environment(
    loader=FileSystemLoader(_HERE / "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_templates.globals["_"] = _
#: No script, nothing from elsewhere, not inside another page.
DOOR_POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
_STREAMLIT_USER = "_streamlit_user"
_HEADERS = {"Content-Security-Policy": DOOR_POLICY, "Referrer-Policy": "same-origin", "Cache-Control": "no-store"}


def draw(request: Request, store: Store, page: str, *, status: int = 200, **filled: Any) -> Response:
    """A page, with a form token for this browser; a browser without a mark gets one."""
    secret, mark = secret_of(store), cookies_of(request.scope).get(MARK)
    fresh = not is_mark(secret, mark)
    if mark is None or fresh:
        mark = new_mark(secret)
    values: dict[str, Any] = {"fault": "", "said": "", "shortest": SHORTEST, "longest": LONGEST, **filled}
    values |= {"language": current(), "languages": LANGUAGES, "here_again": where_to_come_back(request)}
    body = _templates.get_template(f"{page}.html").render(form_token=form_token(secret, mark), **values)
    response = HTMLResponse(body, status_code=status, headers=_HEADERS)
    if fresh:
        _give(request, response, MARK, mark)
    return response


def go_in(request: Request, token: str, to: str = "/") -> Response:
    """On to a page, signed in with this token."""
    response = RedirectResponse(to, status_code=303, headers={"Cache-Control": "no-store"})
    _give(request, response, SESSION, token)
    return response


def go_out(request: Request) -> Response:
    """To the page for signing in, without the session's cookie."""
    response = RedirectResponse("/sign-in", status_code=303, headers={"Cache-Control": "no-store"})
    _give(request, response, SESSION, "")
    # Else the school's system, which Streamlit remembers for weeks, would let the next one in as the last.
    for name in request.cookies:
        if name.startswith(_STREAMLIT_USER):
            _give(request, response, name, "")
    return response


def _give(request: Request, response: Response, name: str, value: str) -> None:
    response.raw_headers.append((b"set-cookie", set_cookie(name, value, secure=is_secure(request.scope))))
