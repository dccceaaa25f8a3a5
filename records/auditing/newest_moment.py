"""The newest moment on record, below which no clock is believed, and the way out where that moment itself was wrong."""

from datetime import datetime

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from records.auditing.audit import append
from records.models import AuditRow, SessionRow, TriesRow
from records.storage.steady_clock import SteadyClock
from records.store import Store

TRUSTED = "trust_clock"


def newest_moment(session: Session) -> datetime | None:
    """When something was last written down, from the last time on that somebody vouched for the clock; None for never."""
    trusted = select(func.coalesce(func.max(AuditRow.number), 0)).where(AuditRow.action == TRUSTED).scalar_subquery()
    found = (
        session.scalar(select(func.max(AuditRow.at)).where(AuditRow.number >= trusted)),
        session.scalar(select(func.max(SessionRow.seen_at))),
    )
    return max((moment for moment in found if moment is not None), default=None)


def trust_clock(store: Store) -> None:
    """Believe the computer's clock from now on, although something on record is newer; everyone signs in anew.

    For whoever keeps the installation, once a clock that was set ahead by mistake is right again. What a clock set ahead
    has ended for good does not come back: a key that a due date has opened, class work where it was ahead for over a week.
    """
    own = store.now.clock if isinstance(store.now, SteadyClock) else store.now
    store.now = own
    with store.writing() as session:
        session.execute(delete(SessionRow))
        session.execute(delete(TriesRow))
        append(store, session, actor_id=None, action=TRUSTED)
    store.now = SteadyClock(own, None)
