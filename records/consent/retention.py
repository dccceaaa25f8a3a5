"""How long class work is kept: it is erased soon after the class's last day, and people are told that day beforehand.

What is erased by date does not come back, and a computer's clock may be wrong for a while. So no single look at it is
believed: the last day must be seen to be over on several days, the first of them a week ago, and while the clock is behind
what is on record nothing is erased. In between the class's instructor can choose a later last day.
"""

import threading
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from records.consent.ending import Gone
from records.consent.erasing import erase_class
from records.consent.for_good import note_the_log, write_down
from records.consent.journal import Kind
from records.identity.people import Person
from records.models import ClassRow, MemberRow
from records.rights import Right, service
from records.store import Store

#: How often, on days that differ, and for how long a last day must be seen to be over before work is erased.
LOOKS, BETWEEN = 3, timedelta(days=7)
#: Computers that share one database need not agree to the minute.
CLOCK_SLACK = timedelta(hours=1)
_looked_on: dict[int, date] = {}
_lock = threading.Lock()


@dataclass(frozen=True, kw_only=True)
class KeptUntil:
    """The last day on which the work of one of a person's classes is kept."""

    class_id: str
    title: str
    keep_until: date


def erase_due_classes(store: Store) -> int:
    """Erase the work of every class whose last day is surely over; returns of how many. Done by the program alone.

    Each call is a look at the clock; those of one day count once.

    Raises
    ------
    StorageFault
    """
    today = store.today()
    over_or_seen = or_(ClassRow.keep_until < today, ClassRow.seen_over.is_not(None))
    looked_at = select(ClassRow).where(over_or_seen, ClassRow.erased_at.is_(None))
    with store.reading() as session:
        if session.scalar(looked_at.limit(1)) is None:
            return 0
    with store.writing() as session:
        for group in session.scalars(looked_at.with_for_update(of=ClassRow)):
            group.seen_over = _seen_over(group, today)
        session.flush()
        groups = _surely_over(session, today) if store.clock_behind < CLOCK_SLACK else []
        for group in groups:
            erase_class(session, group, now=store.now())
            write_down(
                store,
                session,
                actor_id=None,
                action="erase_class",
                kind=Kind.CLASS_ERASED,
                object_id=group.id,
                gone=Gone(),
            )
    if groups:
        store.forget_deleted()
    return len(groups)


def _seen_over(group: ClassRow, today: date) -> list[str] | None:
    """The days that count: none once the last day was moved, or where the clock was ahead when it was looked at."""
    if group.keep_until >= today:
        return None
    before = [day for day in group.seen_over or [] if day < today.isoformat()]
    return [*before[: LOOKS - 1], today.isoformat()]


def _surely_over(session: Session, today: date) -> list[ClassRow]:
    seen = session.scalars(select(ClassRow).where(ClassRow.seen_over.is_not(None), ClassRow.erased_at.is_(None)))
    first_by = today - BETWEEN
    return [
        one
        for one in seen
        if one.seen_over and len(one.seen_over) >= LOOKS and date.fromisoformat(one.seen_over[0]) <= first_by
    ]


def daily(store: Store) -> None:
    """What is to be done once a day: the screens call it as often as they like. Raises StorageFault."""
    with _lock:
        if _looked_on.get(id(store)) == store.today():
            return
        _looked_on[id(store)] = store.today()
    erase_due_classes(store)
    with store.writing() as session:
        note_the_log(store, session)


@service(Right.JOIN_CLASS)
def kept_until(store: Store, person: Person) -> tuple[KeptUntil, ...]:
    """The last day of each class that this person is in, soonest first."""
    mine = (
        select(ClassRow)
        .join(MemberRow, MemberRow.class_id == ClassRow.id)
        .where(MemberRow.person_id == person.id, MemberRow.left_at.is_(None), ClassRow.erased_at.is_(None))
        .order_by(ClassRow.keep_until, ClassRow.title)
    )
    with store.reading() as session:
        return tuple(
            KeptUntil(class_id=row.id, title=row.title, keep_until=row.keep_until) for row in session.scalars(mine)
        )
