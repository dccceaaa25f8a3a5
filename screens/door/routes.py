"""The routes of the door's pages."""

from pathlib import Path

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route

from screens.door import joining, languages, signing
from screens.door.answering import page_route
from screens.language import _

_HERE = Path(__file__).resolve().parent
_FILES = {
    "look.css": (_HERE.parent / "look.css", "text/css"),
    "door.css": (_HERE / "door.css", "text/css"),
    "icon.svg": (_HERE.parent / "icon.svg", "image/svg+xml"),
}


async def _file(request: Request) -> Response:
    path, kind = _FILES.get(request.path_params["name"], (None, None))
    return FileResponse(path, media_type=kind) if path else PlainTextResponse(_("Not here."), status_code=404)


def door_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [
        page_route("/sign-in", signing.sign_in),
        page_route("/sign-out", signing.sign_out),
        page_route("/first-account", signing.first_account),
        page_route("/password", signing.password),
        page_route("/alone", signing.alone, ("POST",)),
        page_route("/join", joining.join),
        page_route("/ticket", joining.ticket, ("POST",)),
        page_route("/newcomer", joining.newcomer, ("POST",)),
        page_route("/language", languages.choose_language, ("POST",)),
        Route("/door/{name}", _file, methods=["GET"]),
    ]
