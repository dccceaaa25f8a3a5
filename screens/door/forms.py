"""Forms that a browser sends back: read with a limit, and refused where another site's page could have sent them."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from starlette.requests import Request

from records.store import Store
from screens.door.cookies import MARK, cookies_of, header, is_form_token
from screens.door.visitor import secret_of

LONGEST_BODY = 16_384
_KIND = "application/x-www-form-urlencoded"


class FormRefused(Exception):
    """The form did not come from a page of ours in this browser, or is no form; `str()` is for the person."""


def comes_from_here(scope: Mapping[str, Any]) -> bool:
    """Whether the browser says that a page of this very address sent the request.

    Sec-Fetch-Site cannot be set by a page; browsers send it over TLS and on loopback. Elsewhere Origin must name the host
    that was asked.
    """
    site = header(scope, b"sec-fetch-site")
    if site:
        return site == "same-origin"
    origin, host = header(scope, b"origin"), header(scope, b"host")
    return bool(host) and urlsplit(origin).netloc == host


async def read_form(request: Request, store: Store) -> dict[str, str]:
    """The fields of a form that was sent to this browser by us.

    Raises
    ------
    FormRefused
    """
    if not comes_from_here(request.scope) or header(request.scope, b"content-type").split(";")[0].strip() != _KIND:
        raise FormRefused("This form did not come from this program's own page, so nothing was done.")
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > LONGEST_BODY:
            raise FormRefused("This form is too long, so nothing was done.")
    try:
        fields = dict(parse_qsl(body.decode("utf-8"), keep_blank_values=True, max_num_fields=20))
    except ValueError as error:
        raise FormRefused("This form could not be read, so nothing was done.") from error
    if not is_form_token(secret_of(store), cookies_of(request.scope).get(MARK), fields.pop("form_token", "")):
        raise FormRefused("This page had been open for too long; please try once more.")
    return fields
