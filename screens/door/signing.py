"""Door pages for those who have an account or make the first: in, out, another password, alone at this computer."""

from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from records.errors import RecordsError, StorageFault
from records.identity import accounts, sessions
from records.settings import read_settings
from records.store import Store
from screens.account.school_system import is_configured
from screens.door.answering import Fields, enter, holder_of, same_twice, status_of, token_of
from screens.door.cookies import address_of, is_this_computer
from screens.door.pages import draw, go_out
from screens.language import N_, _, said
from screens.uploads import shelf


def sign_in(request: Request, store: Store, sent: Fields | None) -> Response:
    """Ask for name and password, and begin a session."""
    if not accounts.has_accounts(store):
        return RedirectResponse("/first-account", status_code=303)
    ways = {
        "alone": read_settings(store).alone_open and is_this_computer(request.scope),
        "school_system": is_configured(),
    }
    if sent is None:
        return draw(request, store, "sign_in", handle="", **ways)
    handle = sent.get("handle", "")
    try:
        signed_in = accounts.sign_in(
            store, handle=handle, password=sent.get("password", ""), from_where=address_of(request.scope)
        )
    except RecordsError as error:
        return draw(request, store, "sign_in", status=status_of(error), fault=said(error), handle=handle, **ways)
    return enter(request, store, signed_in)


def sign_out(request: Request, store: Store, sent: Fields | None) -> Response:
    """End the session, in every tab."""
    if sent is None:
        return draw(request, store, "sign_out")
    shelf.forget_session(token_of(request) or "")
    sessions.sign_out(store, token_of(request))
    return go_out(request)


def first_account(request: Request, store: Store, sent: Fields | None) -> Response:
    """Make this installation a school's."""
    if accounts.has_accounts(store):
        return RedirectResponse("/sign-in", status_code=303)
    if sent is None:
        return draw(request, store, "first_account", handle="", alone=False)
    handle, alone = sent.get("handle", ""), sent.get("alone") == "yes"
    try:
        password = same_twice(sent)
        signed_in = accounts.first_account(store, handle=handle, password=password, alone_open=alone)
    except RecordsError as error:
        return draw(
            request, store, "first_account", status=status_of(error), fault=said(error), handle=handle, alone=alone
        )
    return enter(request, store, signed_in)


def password(request: Request, store: Store, sent: Fields | None) -> Response:
    """Change the own password; for someone who got a one-time password this is the only page that is open."""
    held = holder_of(request, store)
    if held is None:
        return RedirectResponse("/sign-in", status_code=303)
    filled: dict[str, Any] = {"handle": held.person.handle, "must_change": held.must_change}
    if sent is None:
        return draw(request, store, "password", **filled)
    try:
        new = same_twice(sent)
        signed_in = accounts.change_password(store, held.person, sent.get("old", ""), new)
    except RecordsError as error:
        return draw(request, store, "password", status=status_of(error), fault=said(error), **filled)
    return enter(request, store, signed_in)


def alone(request: Request, store: Store, sent: Fields | None) -> Response:
    """Practise at this computer without an account, where the school left that open."""
    if sent is None or not is_this_computer(request.scope):
        return draw(request, store, "refused", status=403, fault=_(_ELSEWHERE), back="/sign-in")
    try:
        return enter(request, store, sessions.work_alone(store))
    except RecordsError as error:
        status = 503 if isinstance(error, StorageFault) else 403
        return draw(request, store, "refused", status=status, fault=said(error), back="/sign-in")


_ELSEWHERE = N_("Working without an account is for whoever sits at the computer on which this program runs.")
