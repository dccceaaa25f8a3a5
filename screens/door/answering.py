"""How a door page is answered: the form is checked, the page does its work in a thread, faults become one sentence."""

from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from records.errors import InvalidRecord, RecordsError, StorageFault, TooManyTries
from records.identity.sessions import Holder, SignedIn, holder, sign_out
from records.store import Store
from screens import data
from screens.door.cookies import SESSION, cookies_of
from screens.door.forms import FormRefused, read_form
from screens.door.pages import draw, go_in
from screens.language import said

Fields = dict[str, str]
#: What a page does: (request, store, the fields that were sent or None where it is only looked at) -> the answer.
Page = Callable[[Request, Store, Fields | None], Response]


def page_route(path: str, page: Page, methods: tuple[str, ...] = ("GET", "POST")) -> Route:
    """The route of a door page."""

    async def answer(request: Request) -> Response:
        try:
            store = await run_in_threadpool(data.store)
            try:
                sent = await read_form(request, store) if request.method == "POST" else None
            except FormRefused as refused:
                back = path if "GET" in methods else "/sign-in"
                return await run_in_threadpool(
                    draw, request, store, "refused", status=403, fault=said(refused), back=back
                )
            return await run_in_threadpool(page, request, store, sent)
        except RecordsError as error:
            # A refusal of a form needs the installation's secret too, which an unreachable database does not give.
            return PlainTextResponse(said(error), status_code=503)

    return Route(path, answer, methods=list(methods))


def status_of(error: RecordsError) -> int:
    """The HTTP status under which a page says what went wrong."""
    if isinstance(error, StorageFault):
        return 503
    return 429 if isinstance(error, TooManyTries) else 400


def same_twice(sent: Fields) -> str:
    """The new password, where both fields hold the same. Raises InvalidRecord."""
    if sent.get("password", "") != sent.get("again", ""):
        raise InvalidRecord("The two passwords differ; please type the same one twice.")
    return sent.get("password", "")


def enter(request: Request, store: Store, signed_in: SignedIn) -> Response:
    """On into the program; the session that this browser had before ends, whoever's it was."""
    sign_out(store, token_of(request))
    return go_in(request, signed_in.token, "/password" if signed_in.must_change else "/")


def token_of(request: Request) -> str | None:
    """The session's token that the request brought along."""
    return cookies_of(request.scope).get(SESSION)


def holder_of(request: Request, store: Store) -> Holder | None:
    """Whose session the request belongs to, even where the password must be changed first."""
    return holder(store, token_of(request))
