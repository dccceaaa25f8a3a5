"""The routes of the door's pages: make the first account, sign in, sign out."""

from collections.abc import Callable
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from records import accounts, sessions
from records.errors import InvalidRecord, RecordsError, TooManyTries
from records.store import Store
from screens import data
from screens.door.cookies import SESSION, address_of, cookies_of
from screens.door.forms import FormRefused, read_form
from screens.door.pages import draw, go_in, go_out

_HERE = Path(__file__).resolve().parent
_FILES = {
    "look.css": (_HERE.parent / "look.css", "text/css"),
    "door.css": (_HERE / "door.css", "text/css"),
    "icon.svg": (_HERE.parent / "icon.svg", "image/svg+xml"),
}

Fields = dict[str, str]
#: What a page does: (request, store, the fields that were sent or None where it is only looked at) -> the answer.
Page = Callable[[Request, Store, Fields | None], Response]


def _sign_in(request: Request, store: Store, sent: Fields | None) -> Response:
    if not accounts.has_accounts(store):
        return RedirectResponse("/first-account", status_code=303)
    if sent is None:
        return draw(request, store, "sign_in", handle="")
    handle = sent.get("handle", "")
    try:
        signed_in = accounts.sign_in(
            store, handle=handle, password=sent.get("password", ""), from_where=address_of(request.scope)
        )
    except RecordsError as error:
        return draw(request, store, "sign_in", status=_status(error), fault=str(error), handle=handle)
    return go_in(request, signed_in.token)


def _first_account(request: Request, store: Store, sent: Fields | None) -> Response:
    if accounts.has_accounts(store):
        return RedirectResponse("/sign-in", status_code=303)
    if sent is None:
        return draw(request, store, "first_account", handle="", alone=False)
    handle, alone = sent.get("handle", ""), sent.get("alone") == "yes"
    try:
        password = same_twice(sent)
        signed_in = accounts.first_account(store, handle=handle, password=password, alone_open=alone)
    except RecordsError as error:
        return draw(request, store, "first_account", status=400, fault=str(error), handle=handle, alone=alone)
    return go_in(request, signed_in.token)


def _sign_out(request: Request, store: Store, sent: Fields | None) -> Response:
    if sent is None:
        return draw(request, store, "sign_out")
    sessions.sign_out(store, cookies_of(request.scope).get(SESSION))
    return go_out(request)


def same_twice(sent: Fields) -> str:
    """The new password, where both fields hold the same. Raises InvalidRecord."""
    if sent.get("password", "") != sent.get("again", ""):
        raise InvalidRecord("The two passwords differ; please type the same one twice.")
    return sent.get("password", "")


def _status(error: RecordsError) -> int:
    return 429 if isinstance(error, TooManyTries) else 400


def _route(path: str, page: Page) -> Route:
    async def answer(request: Request) -> Response:
        try:
            store = await run_in_threadpool(data.store)
            sent = await read_form(request, store) if request.method == "POST" else None
            return await run_in_threadpool(page, request, store, sent)
        except FormRefused as refused:
            return await run_in_threadpool(draw, request, store, "refused", status=403, fault=str(refused), back=path)
        except RecordsError as error:
            return PlainTextResponse(str(error), status_code=503)

    return Route(path, answer, methods=["GET", "POST"])


async def _file(request: Request) -> Response:
    path, kind = _FILES.get(request.path_params["name"], (None, None))
    return FileResponse(path, media_type=kind) if path else PlainTextResponse("Not here.", status_code=404)


def door_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [
        _route("/sign-in", _sign_in),
        _route("/sign-out", _sign_out),
        _route("/first-account", _first_account),
        Route("/door/{name}", _file, methods=["GET"]),
    ]
