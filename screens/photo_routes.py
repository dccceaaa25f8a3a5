"""The program's own routes for pictures: who asks is looked up at each request, and so is the consent.

Streamlit serves whatever it is handed under `/media`, to anyone who has the address. Photos therefore never go
there: they are read from `records` for the person whose session the browser holds, at the moment of asking. Without a
living session (or, while nobody has an account, the mark of this computer) an address gives nothing.
"""

from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from records.errors import NotSignedIn, RecordsError, StorageFault
from records.identity.people import Person
from screens import data, pictures
from screens.door.cookies import MARK, SESSION, cookies_of
from screens.door.visitor import picture_visitor
from screens.language import _
from screens.uploads import drafts

#: For whatever is sent to one person only; nothing between the program and the page may keep it.
PRIVATE = {"Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"}
RETRY_AFTER_SECONDS = 5


def who_asks(request: Request) -> Person:
    """The person whose browser sent the request. Raises NotSignedIn; reads the database, so call it in a thread."""
    cookies = cookies_of(request.scope)
    person = picture_visitor(data.store(), cookies.get(MARK), cookies.get(SESSION))
    if person is None:
        raise NotSignedIn("Sign in first.")
    return person


async def guarded(
    request: Request, read: Callable[[Person], bytes], *, kind: str = "image/jpeg", download: str | None = None
) -> Response:
    """What `read` gives for whoever asks.

    401 for nobody, 404 alike for "never was", "withdrawn" and "not yours", and 503 where the records or the disk do not
    answer: what is only away must not look as if it were gone.

    Parameters
    ----------
    read : callable
        Given the person; raises RecordsError or KeyError where there is nothing for them.
    kind : str
        The media type.
    download : str or None
        A plain ASCII file name where the browser shall save and not show it.
    """
    headers = dict(PRIVATE)
    if download is not None:
        headers["Content-Disposition"] = f'attachment; filename="{download}"'
    try:
        found = await run_in_threadpool(lambda: read(who_asks(request)))
    except NotSignedIn:
        return PlainTextResponse(_("Open the program's page and sign in first."), status_code=401, headers=PRIVATE)
    except (StorageFault, OSError):
        return away()
    except (RecordsError, KeyError):
        # The address must not tell which it was.
        return PlainTextResponse(_("This is not available."), status_code=404, headers=PRIVATE)
    return Response(found, media_type=kind, headers=headers)


def away() -> Response:
    """What a route answers while the records or the disk below them do not; it names no folder and no server."""
    return PlainTextResponse(
        _("The records cannot be reached just now. Please try again in a moment."),
        status_code=503,
        headers={**PRIVATE, "Retry-After": str(RETRY_AFTER_SECONDS)},
    )


async def _photo(request: Request) -> Response:
    photo_id = request.path_params["photo_id"]
    return await guarded(request, lambda person: pictures.screen_jpeg(person, photo_id))


async def _thumbnail(request: Request) -> Response:
    photo_id = request.path_params["photo_id"]
    return await guarded(request, lambda person: pictures.thumbnail_jpeg(person, photo_id))


async def _draft(request: Request) -> Response:
    token = request.path_params["token"]
    return await guarded(request, lambda person: drafts.screen_jpeg(token, person.id))


async def _overlay(request: Request) -> Response:
    attempt_id = request.path_params["attempt_id"]
    download = "practice-overlay.jpg" if "download" in request.query_params else None
    return await guarded(request, lambda person: pictures.overlay_jpeg(person, attempt_id), download=download)


def photo_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [
        Route("/photos/{photo_id}/screen.jpg", _photo),
        Route("/photos/{photo_id}/thumbnail.jpg", _thumbnail),
        Route("/drafts/{token}/screen.jpg", _draft),
        Route("/overlays/{attempt_id}/overlay.jpg", _overlay),
    ]
