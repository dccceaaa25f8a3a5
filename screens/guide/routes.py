"""The pictures of the guides. They show doll photos and invented people, so anyone may have them."""

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route

from screens.guide.texts import ADDRESS, PICTURES
from screens.language import _


async def _picture(request: Request) -> Response:
    path = PICTURES / f"{request.path_params['name']}.webp"
    # The route takes one part of a path, and only names that lie in the folder.
    if path.name not in {found.name for found in PICTURES.glob("*.webp")}:
        return PlainTextResponse(_("Not here."), status_code=404)
    return FileResponse(path, media_type="image/webp")


def guide_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [Route(f"{ADDRESS}/{{name}}.webp", _picture, methods=["GET"])]
