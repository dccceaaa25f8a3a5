"""Rate limits: how often one may be wrong before one has to wait.

A try is counted before it is checked, so that many at once get no further than one after the other; whoever was right
takes the try back. Kept is a hash of what was tried, never the handle or the address itself.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

from sqlalchemy import ColumnElement, delete
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from records.errors import TooManyTries
from records.models import TriesRow
from records.store import Store

LONGEST_WAIT = timedelta(minutes=15)
_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Limit:
    """What is counted together, and how many wrong tries are free before the first wait of a minute.

    The count begins anew once `within` has passed since its first try and its last wait.
    """

    what: str
    free: int
    within: timedelta = _DAY

    @property
    def what_sha256(self) -> str:
        """What is kept of it."""
        return hashlib.sha256(self.what.encode("utf-8", "surrogatepass")).hexdigest()


def by_handle(folded_handle: str) -> Limit:
    """Five wrong passwords for one handle, wherever they come from."""
    return Limit(what=f"handle {folded_handle}", free=5)


def by_address(address: str) -> Limit:
    """Forty wrong tries in a quarter of an hour from one address: a whole school may sit behind one, and mistypes."""
    return Limit(what=f"address {address}", free=40, within=timedelta(minutes=15))


def by_newcomers(address: str) -> Limit:
    """A hundred new accounts in an hour from one address; none of these tries is taken back."""
    return Limit(what=f"newcomers {address}", free=100, within=timedelta(hours=1))


def by_person(person_id: str, doing: str) -> Limit:
    """Five wrong tries of someone who is signed in."""
    return Limit(what=f"{doing} {person_id}", free=5)


def begin_try(store: Store, *limits: Limit) -> None:
    """Count a try that is about to be checked.

    Raises
    ------
    TooManyTries
        Where one of the limits is closed; then nothing is counted.
    """
    now = store.now()
    with store.writing() as session:
        session.execute(delete(TriesRow).where(TriesRow.first_at < now - 2 * _DAY, _long_open(now)))
        # In one order everywhere, so that two tries never wait for each other.
        rows = [(limit, _row(session, limit, now)) for limit in sorted(limits, key=lambda limit: limit.what_sha256)]
        waits = [row.closed_until - now for _, row in rows if row.closed_until is not None and row.closed_until > now]
        if waits:
            raise TooManyTries(_sentence(max(waits)))
        for limit, row in rows:
            row.count += 1
            if row.count >= limit.free:
                row.closed_until = now + wait_after(row.count - limit.free)


def wait_after(more: int) -> timedelta:
    """How long to wait after the free tries and `more` further ones: 1, 2, 4, 8, 15, 15 ... minutes."""
    return min(timedelta(minutes=2 ** min(more, 10)), LONGEST_WAIT)


def was_right(store: Store, *, cleared: Iterable[Limit] = (), lowered: Iterable[Limit] = ()) -> None:
    """Forget all tries of some limits, and take this one try back from others."""
    gone = [limit.what_sha256 for limit in cleared]
    with store.writing() as session:
        session.execute(delete(TriesRow).where(TriesRow.what_sha256.in_(gone)))
        for limit in sorted(lowered, key=lambda limit: limit.what_sha256):
            row = session.get(TriesRow, limit.what_sha256, with_for_update=True)
            if row is not None and row.count > 0:
                row.count -= 1
                if row.count < limit.free:
                    row.closed_until = None


def _row(session: Session, limit: Limit, now: datetime) -> TriesRow:
    row = session.get(TriesRow, limit.what_sha256, with_for_update=True)
    if row is None:
        try:
            with session.begin_nested():
                session.add(TriesRow(what_sha256=limit.what_sha256, count=0, first_at=now, closed_until=None))
        except IntegrityError:
            # Another process was faster.
            pass
        row = session.get_one(TriesRow, limit.what_sha256, with_for_update=True)
    if now - max(row.first_at, row.closed_until or row.first_at) > limit.within:
        row.count, row.first_at, row.closed_until = 0, now, None
    return row


def _long_open(now: datetime) -> ColumnElement[bool]:
    return (TriesRow.closed_until.is_(None)) | (TriesRow.closed_until < now - _DAY)


def _sentence(wait: timedelta) -> str:
    minutes = ceil(wait.total_seconds() / 60)
    # Whole in each form, so that it can be said in another language.
    if minutes == 1:
        return "Too many tries went wrong; please wait 1 minute and try again."
    return f"Too many tries went wrong; please wait {minutes} minutes and try again."
