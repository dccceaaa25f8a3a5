"""How long class work is kept: it is erased after the class's last day, and people are told that day beforehand."""

import threading
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from records.consent.ending import Gone
from records.consent.erasing import erase_class
from records.consent.for_good import note_the_log, write_down
from records.consent.journal import Kind
from records.identity.people import Person
from records.models import ClassRow, MemberRow
from records.rights import Right, service
from records.store import Store

_looked_on: dict[int, date] = {}
_lock = threading.Lock()


@dataclass(frozen=True, kw_only=True)
class KeptUntil:
    """The last day on which the work of one of a person's classes is kept."""

    class_id: str
    title: str
    keep_until: date


def erase_due_classes(store: Store) -> int:
    """Erase the work of every class whose last day is over; returns of how many. Done by the program, by nobody's wish.

    Raises
    ------
    StorageFault
    """
    due = select(ClassRow).where(ClassRow.keep_until < store.today(), ClassRow.erased_at.is_(None))
    with store.reading() as session:
        if session.scalar(due.limit(1)) is None:
            return 0
    with store.writing() as session:
        groups = session.scalars(due.with_for_update(of=ClassRow)).all()
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
    store.forget_deleted()
    return len(groups)


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
