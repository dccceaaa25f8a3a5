"""Pictures of uploads that nobody has kept yet: in memory only, few, for their own person, gone after half an hour.

Nothing of an upload is stored before its consent or doll declaration is given and its crop is chosen, but the person
must see it to choose the crop. Only the reduced picture waits here; the upload itself stays with Streamlit's session.
"""

import secrets
import threading
import time

SECONDS_KEPT = 1800
MOST_KEPT = 32

_lock = threading.Lock()
_drafts: dict[str, tuple[float, str, bytes]] = {}


def keep(screen_jpeg: bytes, person_id: str) -> str:
    """Hold a reduced picture for this person and return the token of its address."""
    token = secrets.token_urlsafe(24)
    now = time.monotonic()
    with _lock:
        for old in [key for key, (since, *_rest) in _drafts.items() if now - since > SECONDS_KEPT]:
            del _drafts[old]
        while len(_drafts) >= MOST_KEPT:
            del _drafts[next(iter(_drafts))]
        _drafts[token] = (now, person_id, screen_jpeg)
    return token


def screen_jpeg(token: str, person_id: str) -> bytes:
    """The reduced picture of that token.

    Raises
    ------
    KeyError
        Where there is none for this person, or its time is over.
    """
    with _lock:
        since, whose, jpeg = _drafts[token]
        if whose != person_id:
            raise KeyError(token)
        if time.monotonic() - since > SECONDS_KEPT:
            del _drafts[token]
            raise KeyError(token)
        return jpeg


def forget(token: str) -> None:
    """Drop a draft; unknown tokens are fine."""
    with _lock:
        _drafts.pop(token, None)
