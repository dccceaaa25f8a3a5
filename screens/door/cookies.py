"""The cookies, all HttpOnly and SameSite=Strict.

*Mark*: every browser gets one, a random number signed with the installation's secret. It ties a form to the browser
that it was sent to, and while nobody has an account it stands for "opened the page on this computer". *Session*: the
token of someone who is signed in (`records.identity.sessions`). Both are valid in every process on the same database. The
third keeps the language that was chosen.
"""

import hashlib
import hmac
import os
import secrets
from collections.abc import Mapping
from ipaddress import ip_address
from typing import Any

from screens.language import COOKIE as LANGUAGE

MARK = "latch_and_line_mark"
SESSION = "latch_and_line_session"
#: Set to 1 where a proxy of the school's own stands in front and says how it was reached (X-Forwarded-Proto, -For).
PROXY_VARIABLE = "LATCH_AND_LINE_BEHIND_PROXY"


def new_mark(secret: bytes) -> str:
    """A mark for a browser that has none."""
    number = secrets.token_urlsafe(24)
    return f"{number}.{_signed(secret, 'mark', number)}"


def is_mark(secret: bytes, mark: str | None) -> bool:
    """Whether this installation gave the mark out."""
    number, dot, signature = (mark or "").partition(".")
    return bool(dot) and _equal(signature, _signed(secret, "mark", number))


def form_token(secret: bytes, mark: str) -> str:
    """What a form must bring along to prove that it was sent to this browser."""
    return _signed(secret, "form", mark)


def is_form_token(secret: bytes, mark: str | None, token: str) -> bool:
    """Whether the form was sent to the browser with this mark."""
    return is_mark(secret, mark) and _equal(token, form_token(secret, mark or ""))


def _signed(secret: bytes, use: str, text: str) -> str:
    return hmac.new(secret, f"{use}:{text}".encode("utf-8", "surrogatepass"), hashlib.sha256).hexdigest()


def _equal(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode("utf-8", "surrogatepass"), other.encode())


def cookies_of(scope: Mapping[str, Any]) -> dict[str, str]:
    """Our cookies of a request, where it brought them."""
    found: dict[str, str] = {}
    for name, value in scope.get("headers", []):
        if name != b"cookie":
            continue
        # One by one: a cookie of another program on this host must not hide ours.
        for part in value.decode("latin-1").split(";"):
            key, _, text = part.strip().partition("=")
            if key in (MARK, SESSION, LANGUAGE):
                found.setdefault(key, text.strip('"'))
    return found


def set_cookie(name: str, value: str, *, secure: bool, days: int = 0) -> bytes:
    """The header that gives the cookie, until the browser is closed or for so many days; an empty value takes it away."""
    parts = [f"{name}={value}", "HttpOnly", "SameSite=Strict", "Path=/"]
    if not value:
        parts.append("Max-Age=0")
    elif days:
        parts.append(f"Max-Age={days * 86_400}")
    if secure:
        parts.append("Secure")
    return "; ".join(parts).encode("latin-1")


def trusts_proxy() -> bool:
    """Whether the school said that a proxy of its own stands in front."""
    return os.environ.get(PROXY_VARIABLE, "").strip() == "1"


def is_secure(scope: Mapping[str, Any]) -> bool:
    """Whether the browser came by TLS, here or at the school's proxy."""
    if scope.get("scheme") == "https":
        return True
    return trusts_proxy() and header(scope, b"x-forwarded-proto").split(",")[-1].strip() == "https"


def address_of(scope: Mapping[str, Any]) -> str:
    """Where a request came from; behind the school's proxy, what that proxy saw."""
    client = scope.get("client")
    direct = str(client[0]) if client else "unknown"
    if trusts_proxy() and (seen := header(scope, b"x-forwarded-for").split(",")[-1].strip()):
        return seen
    return direct


def is_this_computer(scope: Mapping[str, Any]) -> bool:
    """Whether the browser runs on the computer that this program runs on, with no proxy in between."""
    if header(scope, b"x-forwarded-for") or header(scope, b"forwarded"):
        return False
    client = scope.get("client")
    try:
        return client is not None and ip_address(client[0]).is_loopback
    except ValueError:
        return False


def header(scope: Mapping[str, Any], name: bytes) -> str:
    """The last header of that name; empty where there is none."""
    values = [value.decode("latin-1") for key, value in scope.get("headers", []) if key == name]
    return values[-1] if values else ""
