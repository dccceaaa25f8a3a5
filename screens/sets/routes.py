"""The routes of teaching sets: pictures, bundles and worksheets, each for whoever asks at that moment and for nobody else."""

from io import BytesIO

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from records.bundles import write_out
from records.identity.people import Person
from screens.data import store
from screens.photo_routes import guarded
from screens.sets import pictures as set_pictures
from screens.sets.worksheet import worksheet_pdf


async def _screen(request: Request) -> Response:
    photo_id = request.path_params["photo_id"]
    return await guarded(request, lambda person: set_pictures.set_photo(person, photo_id))


async def _thumbnail(request: Request) -> Response:
    photo_id = request.path_params["photo_id"]
    return await guarded(request, lambda person: set_pictures.set_thumbnail(person, photo_id))


async def _waiting(request: Request) -> Response:
    token = request.path_params["token"]
    return await guarded(request, lambda person: set_pictures.waiting(person, token))


async def _bundle(request: Request) -> Response:
    bundle_id = request.path_params["bundle_id"]

    def read(person: Person) -> bytes:
        to = BytesIO()
        write_out(store(), person, bundle_id, to)
        return to.getvalue()

    return await guarded(request, read, kind="application/zip", download="teaching-set.zip")


async def _worksheet(request: Request) -> Response:
    version_id, with_key = request.path_params["version_id"], request.path_params["kind"] == "key"
    name = "worksheet-with-key.pdf" if with_key else "worksheet.pdf"
    return await guarded(
        request,
        lambda person: worksheet_pdf(store(), person, version_id, with_key=with_key),
        kind="application/pdf",
        download=name,
    )


def set_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [
        Route("/set-photos/{photo_id}/screen.jpg", _screen),
        Route("/set-photos/{photo_id}/thumbnail.jpg", _thumbnail),
        Route("/set-uploads/{token}/picture.jpg", _waiting),
        Route("/set-bundles/{bundle_id}/teaching-set.zip", _bundle),
        Route("/set-worksheets/{version_id}/{kind}.pdf", _worksheet),
    ]
