"""The routes of the ledger and of one's own data: consent scans, the form to print, the zip; each for whoever asks."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from records.consent.own_data import export_own_data
from records.consent.scans import Scan, read_scan
from records.identity.people import Person
from screens.data import store
from screens.ledger.consent_form import consent_form_pdf
from screens.photo_routes import guarded


async def _scan(request: Request) -> Response:
    consent_id = request.path_params["consent_id"]
    found: list[Scan] = []

    def read(person: Person) -> bytes:
        found.append(read_scan(store(), person, consent_id))
        return found[0].data

    response = await guarded(request, read, kind="application/octet-stream", download="consent-form")
    for scan in found:
        # Always saved, never shown: a PDF may hold scripts.
        response.headers["Content-Type"] = scan.media_type
        response.headers["Content-Disposition"] = f'attachment; filename="{scan.file_name}"'
    return response


async def _form(request: Request) -> Response:
    return await guarded(
        request, lambda _: consent_form_pdf(school=None), kind="application/pdf", download="consent-form.pdf"
    )


async def _own_data(request: Request) -> Response:
    return await guarded(
        request, lambda person: export_own_data(store(), person), kind="application/zip", download="my-data.zip"
    )


def ledger_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [
        Route("/consent-scans/{consent_id}/form", _scan),
        Route("/consent-form.pdf", _form),
        Route("/own-data/my-data.zip", _own_data),
    ]
