"""Gives every browser its mark, forbids pages to load anything from elsewhere, and asks the gate first."""

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.middleware import Middleware
from starlette.responses import PlainTextResponse

from records.errors import RecordsError
from screens import data
from screens.door import gate, sent
from screens.door.cookies import MARK, cookies_of, is_mark, is_secure, new_mark, set_cookie
from screens.door.languages import language_of
from screens.door.visitor import secret_of
from screens.language import _, spoken

#: Streamlit's own page needs inline scripts, eval (charts) and blob modules (components); nothing needs another host.
PAGE_POLICY = (
    b"default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval' blob: data:; style-src 'self' 'unsafe-inline'; "
    b"img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' ws: wss: data: blob:; worker-src 'self' blob:; "
    b"frame-ancestors 'self'; form-action 'self'; base-uri 'self'"
)

#: On every answer: nothing is taken for another kind of file, and no page of another address may show it.
EVERYWHERE: tuple[tuple[bytes, bytes], ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"cross-origin-resource-policy", b"same-origin"),
)

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]


class DoorMiddleware:
    """Turns away what the gate refuses; adds the policy to every HTML answer, and the mark where none of ours came."""

    def __init__(self, app: Callable[[Scope, Receive, Send], Awaitable[None]]) -> None:
        self.app = app

    @classmethod
    def entry(cls) -> Middleware:
        """The middleware as `st.App` takes it."""
        return Middleware(cls)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and add to the answer, or turn it away."""
        if scope["type"] == "websocket":
            if gate.refusal_of_host(scope) or gate.opens_from_elsewhere(scope):
                await send({"type": "websocket.close", "code": 1008})
                return
            await self.app(scope, _read_first(receive), send)
        elif scope["type"] == "http":
            with spoken(language_of(scope)):
                await self._answer(scope, receive, send)
        else:
            await self.app(scope, receive, send)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": await _all_headers(scope, message)}
            await send(message)

        refusal = gate.refusal_of_host(scope)
        if refusal is None and gate.is_asked_about(scope):
            told = await run_in_threadpool(gate.refusal_or_limit, scope)
            if isinstance(told, gate.Refusal):
                refusal = told
            else:
                receive = gate.no_longer_than_a_file(receive, told)
        if refusal is not None:
            await PlainTextResponse(refusal.words, status_code=refusal.status)(scope, receive, send_with_headers)
            return
        try:
            await self.app(scope, receive, send_with_headers)
        except gate.BodyTooLongError:
            await PlainTextResponse(_("This file is too large."), status_code=413)(scope, receive, send_with_headers)


def _read_first(receive: Receive) -> Receive:
    async def received() -> Message:
        message = await receive()
        return {**message, "bytes": sent.readable(message["bytes"])} if message.get("bytes") else message

    return received


async def _all_headers(scope: Scope, answer: Message) -> list[tuple[bytes, bytes]]:
    headers = list(answer.get("headers", []))
    added = EVERYWHERE
    if _is_html(answer):
        added = (*added, (b"content-security-policy", PAGE_POLICY), (b"referrer-policy", b"same-origin"))
        if not _gives_mark(headers) and (mark := await run_in_threadpool(_mark_to_give, scope)):
            headers.append((b"set-cookie", set_cookie(MARK, mark, secure=is_secure(scope))))
    present = {key.lower() for key, _ in headers}
    # A door page brings its own, stricter policy.
    return [*headers, *((name, value) for name, value in added if name not in present)]


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
