"""The program's own routes for pictures, and the cookie without which they give nothing.

Streamlit serves whatever it is handed under `/media`, to anyone who has the address. Photos therefore never go
there: they are read from `records` at each request, which asks the consent at that moment, and are sent only to a
browser that opened the page in this process and still holds its HttpOnly, SameSite=Strict cookie. A page of another
site cannot make the browser send that cookie, and a copied address gives nothing elsewhere.
"""

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import SimpleCookie
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from records.errors import RecordsError
from screens import drafts, pictures

COOKIE = "latch_and_line_door"
_MOST_OPEN_DOORS = 10_000

#: Streamlit's own page needs inline scripts, eval (charts) and blob modules (components); nothing needs another host.
PAGE_POLICY = (
    b"default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval' blob: data:; style-src 'self' 'unsafe-inline'; "
    b"img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' ws: wss: data: blob:; worker-src 'self' blob:; "
    b"frame-ancestors 'self'; form-action 'self'; base-uri 'self'"
)

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]

#: Cookies handed out by this process, oldest first; a restart forgets them and pages fetch a new one as they reload.
_open_doors: dict[str, None] = {}


def _new_door() -> str:
    token = secrets.token_urlsafe(32)
    _open_doors[token] = None
    while len(_open_doors) > _MOST_OPEN_DOORS:
        del _open_doors[next(iter(_open_doors))]
    return token


def _cookie_of(scope: Scope) -> str | None:
    for name, value in scope.get("headers", []):
        if name == b"cookie":
            morsel = SimpleCookie(value.decode("latin-1")).get(COOKIE)
            if morsel is not None:
                return morsel.value
    return None


class DoorMiddleware:
    """Gives the page its cookie, and forbids browsers to load anything from elsewhere."""

    def __init__(self, app: Callable[[Scope, Receive, Send], Awaitable[None]]) -> None:
        self.app = app

    @classmethod
    def entry(cls) -> Middleware:
        """The middleware as `st.App` takes it."""
        return Middleware(cls)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Add the policy to every HTML answer, and the cookie where the request did not bring a known one."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        known = _cookie_of(scope) in _open_doors

        async def send_with_headers(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start" and _is_html(message):
                added = [(b"content-security-policy", PAGE_POLICY), (b"referrer-policy", b"no-referrer")]
                if not known:
                    cookie = f"{COOKIE}={_new_door()}; HttpOnly; SameSite=Strict; Path=/"
                    added.append((b"set-cookie", cookie.encode("latin-1")))
                message = {**message, "headers": [*message.get("headers", []), *added]}
            await send(message)

        await self.app(scope, receive, send_with_headers)


def _is_html(message: MutableMapping[str, Any]) -> bool:
    return any(k.lower() == b"content-type" and v.startswith(b"text/html") for k, v in message.get("headers", []))


def _picture(jpeg: bytes, *, download: str | None = None) -> Response:
    headers = {"Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"}
    if download is not None:
        headers["Content-Disposition"] = f'attachment; filename="{download}"'
    return Response(jpeg, media_type="image/jpeg", headers=headers)


async def _guarded(request: Request, read: Callable[[], bytes], *, download: str | None = None) -> Response:
    if request.cookies.get(COOKIE) not in _open_doors:
        return PlainTextResponse("Open the program's page first.", status_code=403)
    try:
        return _picture(await run_in_threadpool(read), download=download)
    except (RecordsError, KeyError):
        # One answer for "never was", "withdrawn" and "not yours": the address must not tell which.
        return PlainTextResponse("This picture is not available.", status_code=404)


async def _photo(request: Request) -> Response:
    photo_id = request.path_params["photo_id"]
    return await _guarded(request, lambda: pictures.screen_jpeg(photo_id))


async def _thumbnail(request: Request) -> Response:
    photo_id = request.path_params["photo_id"]
    return await _guarded(request, lambda: pictures.thumbnail_jpeg(photo_id))


async def _draft(request: Request) -> Response:
    token = request.path_params["token"]
    return await _guarded(request, lambda: drafts.screen_jpeg(token))


async def _overlay(request: Request) -> Response:
    attempt_id = request.path_params["attempt_id"]
    download = "practice-overlay.jpg" if "download" in request.query_params else None
    return await _guarded(request, lambda: pictures.overlay_jpeg(attempt_id), download=download)


def photo_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [
        Route("/photos/{photo_id}/screen.jpg", _photo),
        Route("/photos/{photo_id}/thumbnail.jpg", _thumbnail),
        Route("/drafts/{token}/screen.jpg", _draft),
        Route("/overlays/{attempt_id}/overlay.jpg", _overlay),
    ]
