"""Gives every browser its mark, and forbids pages to load anything from elsewhere."""

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware

from records.errors import RecordsError
from screens import data
from screens.door.cookies import MARK, cookies_of, is_mark, is_secure, new_mark, set_cookie
from screens.door.visitor import secret_of

#: Streamlit's own page needs inline scripts, eval (charts) and blob modules (components); nothing needs another host.
PAGE_POLICY = (
    b"default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval' blob: data:; style-src 'self' 'unsafe-inline'; "
    b"img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' ws: wss: data: blob:; worker-src 'self' blob:; "
    b"frame-ancestors 'self'; form-action 'self'; base-uri 'self'"
)

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]


class DoorMiddleware:
    """Adds the policy to every HTML answer, and the mark where the request did not bring one of ours."""

    def __init__(self, app: Callable[[Scope, Receive, Send], Awaitable[None]]) -> None:
        self.app = app

    @classmethod
    def entry(cls) -> Middleware:
        """The middleware as `st.App` takes it."""
        return Middleware(cls)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and add to the answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start" and _is_html(message):
                headers = list(message.get("headers", []))
                present = {key.lower() for key, _ in headers}
                # A door page brings its own, stricter ones.
                for name, value in ((b"content-security-policy", PAGE_POLICY), (b"referrer-policy", b"same-origin")):
                    if name not in present:
                        headers.append((name, value))
                if not _gives_mark(headers) and (mark := await run_in_threadpool(_mark_to_give, scope)):
                    headers.append((b"set-cookie", set_cookie(MARK, mark, secure=is_secure(scope))))
                message = {**message, "headers": headers}
            await send(message)

        await self.app(scope, receive, send_with_headers)


def _is_html(message: Message) -> bool:
    return any(k.lower() == b"content-type" and v.startswith(b"text/html") for k, v in message.get("headers", []))


def _gives_mark(headers: list[tuple[bytes, bytes]]) -> bool:
    return any(k.lower() == b"set-cookie" and v.startswith(MARK.encode()) for k, v in headers)


def _mark_to_give(scope: Scope) -> str | None:
    try:
        secret = secret_of(data.store())
    except RecordsError:
        # The page itself says what is wrong with the records.
        return None
    return None if is_mark(secret, cookies_of(scope).get(MARK)) else new_mark(secret)
