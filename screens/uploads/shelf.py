"""Batches that nobody has kept yet, for the case that their page is reloaded: in memory only, for their own person and session.

Whoever opens the page again in the same session is offered what waits there. It goes when it is kept or thrown away, on
signing out, after two hours, and when room runs out, the oldest first. Nothing of it is ever written to a disk.
"""

import hashlib
import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass

from screens.sets.pictures import SECONDS_KEPT
from screens.uploads.batch import Batch, Upload

#: Of the files as they came, over all people; what a page has in its own hands goes on even where the shelf lets it go.
MOST_BYTES = 600 * 1024 * 1024


@dataclass(frozen=True, kw_only=True)
class Whose:
    """A person in one session.

    Parameters
    ----------
    person_id : str
    session : str
        What the browser brings along; only a hash of it is kept.
    """

    person_id: str
    session: str

    @property
    def key(self) -> tuple[str, str]:
        return self.person_id, _hash(self.session)


@dataclass(frozen=True, kw_only=True)
class Offer:
    """A batch that waits, begun on another page: its page's mark, how many photos, how long ago in seconds."""

    page: str
    n_photos: int
    seconds_ago: float


@dataclass
class _Shelved:
    batch: Batch
    files: dict[str, Upload]
    since: float

    @property
    def n_bytes(self) -> int:
        return sum(one.size for one in self.files.values())


_lock = threading.Lock()
_shelf: dict[tuple[tuple[str, str], str], _Shelved] = {}
_timer: threading.Timer | None = None


def put(whose: Whose, page: str, batch: Batch, files: Mapping[str, Upload]) -> None:
    """Remember the batch of a page with those of its files that still wait; its time runs from the first call."""
    waiting = {upload_id: files[upload_id] for upload_id in batch.waiting if upload_id in files}
    at = whose.key, page
    with _lock:
        _let_go()
        if not waiting:
            _shelf.pop(at, None)
            return
        since = _shelf[at].since if at in _shelf else time.monotonic()
        _shelf[at] = _Shelved(batch, waiting, since)
        while len(_shelf) > 1 and sum(one.n_bytes for one in _shelf.values()) > MOST_BYTES:
            del _shelf[min(_shelf, key=lambda other: _shelf[other].since)]
        _wind()


def offers(whose: Whose, page: str) -> list[Offer]:
    """What waits for this person in this session from other pages, the oldest first."""
    with _lock:
        _let_go()
        now = time.monotonic()
        mine = [(at[1], one) for at, one in _shelf.items() if at[0] == whose.key and at[1] != page]
        return [Offer(page=other, n_photos=len(one.files), seconds_ago=now - one.since) for other, one in mine]


def take_over(whose: Whose, page: str, *, of: str) -> tuple[Batch, dict[str, Upload]] | None:
    """The batch of another page, which becomes this page's; None where it is gone."""
    with _lock:
        _let_go()
        found = _shelf.pop((whose.key, of), None)
        if found is None:
            return None
        _shelf[(whose.key, page)] = found
        return found.batch, dict(found.files)


def files_of(whose: Whose, page: str, batch: Batch) -> dict[str, Upload]:
    """The files of this very batch that wait for the page; none where there are none."""
    with _lock:
        _let_go()
        found = _shelf.get((whose.key, page))
        return dict(found.files) if found is not None and found.batch is batch else {}


def was_taken(whose: Whose, page: str, batch: Batch) -> bool:
    """Whether another page has taken over this batch."""
    with _lock:
        return any(at[0] == whose.key and at[1] != page and one.batch is batch for at, one in _shelf.items())


def forget(whose: Whose, page: str) -> None:
    """Drop the batch of one page."""
    with _lock:
        _shelf.pop((whose.key, page), None)


def forget_session(session: str) -> None:
    """Drop all that waits in a session, which ends."""
    with _lock:
        for at in [at for at in _shelf if at[0][1] == _hash(session)]:
            del _shelf[at]


def _hash(session: str) -> str:
    return hashlib.sha256(session.encode("utf-8", "surrogatepass")).hexdigest()


def _let_go() -> None:
    for at in [at for at, one in _shelf.items() if time.monotonic() - one.since > SECONDS_KEPT]:
        del _shelf[at]


def _wind() -> None:
    """Have the time limit kept where nobody comes back to look."""
    global _timer
    if _timer is None or not _timer.is_alive():
        _timer = threading.Timer(SECONDS_KEPT + 1, _run_out)
        _timer.daemon = True
        _timer.start()


def _run_out() -> None:
    global _timer
    with _lock:
        _timer = None
        _let_go()
        if _shelf:
            _wind()
