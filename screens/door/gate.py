"""What is turned away before a page, a route or Streamlit sees it.

- A name that this computer does not go by: a page of another site may give its own name our address (DNS rebinding) and
  would then be "the same site" to the browser, and so the person who works alone here.
- A socket that a page of another address opens, such as another program's page on this computer. Streamlit takes those of
  localhost, and asks a server on the internet for this computer's address before it refuses any other.
- Files from nobody, and more of them than one person's share: Streamlit keeps what is sent to an open page in memory.
- Streamlit's counters, from elsewhere than this computer.
"""

import socket
from collections.abc import Awaitable, Callable, Mapping, MutableMapping
from dataclasses import dataclass
from functools import cache
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

from streamlit import config

from records.bundles.form import MAX_BUNDLE_BYTES
from records.errors import RecordsError
from records.identity.people import Role
from screens import data
from screens.door.cookies import MARK, SESSION, cookies_of, header, is_this_computer, trusts_proxy
from screens.door.visitor import picture_visitor
from screens.door.waiting_files import has_room
from screens.language import _, said
from vision.images import MAX_BYTES

UPLOADS = "/_stcore/upload_file/"
METRICS = "/_stcore/metrics"
#: What a browser wraps around one file.
_WRAPPING_BYTES = 65_536


@dataclass(frozen=True, kw_only=True)
class Refusal:
    """An HTTP status and the sentence that goes with it."""

    status: int
    words: str


class BodyTooLongError(Exception):
    """More was sent than a file may have."""


def is_own_name(host: str) -> bool:
    """Whether a Host header names this computer: localhost, a bare address, or a name that it is known to go by.

    Examples
    --------
    >>> [is_own_name(name) for name in ("localhost:8501", "127.0.0.1", "[::1]:8501", "192.168.1.7:8501")]
    [True, True, True, True]
    >>> is_own_name("elsewhere.example:8501")
    False
    """
    try:
        name = (urlsplit(f"//{host}").hostname or "").rstrip(".")
    except ValueError:
        return False
    if name == "localhost" or name.endswith(".localhost") or name in _own_names():
        return True
    try:
        ip_address(name)
    except ValueError:
        return False
    return True


@cache
def _own_names() -> frozenset[str]:
    # No look-up of a full name: that would ask a name server.
    named = socket.gethostname().lower()
    chosen = (config.get_option("browser.serverAddress"), config.get_option("server.address"))
    return frozenset({named, f"{named}.local", *(str(one).lower() for one in chosen if one)})


def refusal_of_host(scope: Mapping[str, Any]) -> Refusal | None:
    """Why a request by this name is turned away; the school's own proxy has looked at the name already."""
    host = header(scope, b"host")
    if not host or trusts_proxy() or is_own_name(host):
        return None
    return Refusal(
        status=421,
        words=_(
            "This program does not go by the name in the address. Open it by localhost or by this computer's name; "
            "--browser.serverAddress NAME tells it another one."
        ),
    )


def opens_from_elsewhere(scope: Mapping[str, Any]) -> bool:
    """Whether a page of another address opens this socket; who is no browser names no origin."""
    origin = header(scope, b"origin")
    return bool(origin) and urlsplit(origin).netloc != header(scope, b"host")


def refusal_or_limit(scope: Mapping[str, Any]) -> Refusal | int:
    """Why this request is not passed on to Streamlit, or how many bytes it may bring; reads the records, so call it in a thread.

    As one file a person may send a photo, or a bundle where they take teaching sets in; Streamlit knows one limit for all.
    """
    path = str(scope.get("path", ""))
    if path.startswith(METRICS) and not is_this_computer(scope):
        return Refusal(status=404, words=_("Not here."))
    if not path.startswith(UPLOADS) or scope.get("method") not in ("PUT", "DELETE"):
        return MAX_BYTES + _WRAPPING_BYTES
    cookies = cookies_of(scope)
    try:
        person = picture_visitor(data.store(), cookies.get(MARK), cookies.get(SESSION))
    except RecordsError as error:
        return Refusal(status=503, words=said(error))
    if person is None:
        return Refusal(status=401, words=_("Open the program's page and sign in first."))
    if scope.get("method") == "PUT" and not has_room(person.id, path.removeprefix(UPLOADS).partition("/")[0]):
        return Refusal(
            status=413,
            words=_(
                "Too many files wait to be kept; please keep or take away some, or close pages that you no longer need."
            ),
        )
    return (MAX_BUNDLE_BYTES if Role.EDUCATOR in person.roles else MAX_BYTES) + _WRAPPING_BYTES


def is_asked_about(scope: Mapping[str, Any]) -> bool:
    """Whether `refusal_or_limit` has anything to say about this path."""
    return str(scope.get("path", "")).startswith((UPLOADS, METRICS))


def no_longer_than_a_file(
    receive: Callable[[], Awaitable[MutableMapping[str, Any]]], left: int
) -> Callable[[], Awaitable[MutableMapping[str, Any]]]:
    """The same body, cut off after `left` bytes; Streamlit would take in all of it and then measure."""

    async def counted() -> MutableMapping[str, Any]:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            raise BodyTooLongError
        return message

    return counted
