"""Door pages for those who come with a class code, and for those whom the school's own system vouches for."""

from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from records.errors import RecordsError
from records.identity import identities, joining
from records.identity.accounts import has_accounts
from records.identity.identities import Newcomer
from records.identity.sessions import person_for_token
from records.store import Store
from screens.door.answering import Fields, enter, same_twice, status_of, token_of
from screens.door.cookies import address_of
from screens.door.pages import draw
from screens.language import said


def join(request: Request, store: Store, sent: Fields | None) -> Response:
    """Join a class by its code: at once for someone signed in, with a new account for someone new."""
    if not has_accounts(store):
        return RedirectResponse("/first-account", status_code=303)
    person = person_for_token(store, token_of(request))
    filled: dict[str, Any] = {"here": person.handle if person else "", "code": "", "handle": ""}
    if sent is None:
        return draw(request, store, "join", **filled)
    filled |= {"code": sent.get("code", ""), "handle": sent.get("handle", "")}
    try:
        if person is not None:
            joining.join_class(store, person, filled["code"])
            return RedirectResponse("/", status_code=303)
        signed_in = joining.join_with_new_account(
            store,
            code=filled["code"],
            handle=filled["handle"],
            password=same_twice(sent),
            from_where=address_of(request.scope),
        )
    except RecordsError as error:
        return draw(request, store, "join", status=status_of(error), fault=said(error), **filled)
    return enter(request, store, signed_in)


def ticket(request: Request, store: Store, sent: Fields | None) -> Response:
    """Take the ticket of someone whom the school's system vouches for; someone new is asked for a class code."""
    sent = sent or {}
    try:
        came = identities.come_in(store, sent.get("ticket", ""))
    except RecordsError as error:
        return draw(request, store, "refused", status=status_of(error), fault=said(error), back="/sign-in")
    if isinstance(came, Newcomer):
        return draw(request, store, "newcomer", ticket=came.ticket, code="", handle="")
    return enter(request, store, came)


def newcomer(request: Request, store: Store, sent: Fields | None) -> Response:
    """Let a newcomer join a class, or link them to an account that was made for them."""
    sent = sent or {}
    held: dict[str, Any] = {
        "ticket": sent.get("ticket", ""),
        "handle": sent.get("handle", ""),
        "code": sent.get("code", ""),
    }
    where = address_of(request.scope)
    try:
        if "password" in sent:
            linked = identities.newcomer_has_account(
                store, held["ticket"], handle=held["handle"], password=sent["password"], from_where=where
            )
            return enter(request, store, linked)
        joined = identities.newcomer_joins(
            store, held["ticket"], code=held["code"], handle=held["handle"], from_where=where
        )
    except RecordsError as error:
        return draw(request, store, "newcomer", status=status_of(error), fault=said(error), **held)
    return enter(request, store, joined)
