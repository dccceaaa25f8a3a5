"""The audit log: what was done and what was refused, each line sealed with the hash of the line before.

Lines hold ids only, never a name, a title or a password. The log is only ever added to; a line that was changed,
removed or put in between breaks the chain from there on.
"""

import hashlib
import json
import re
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from sqlalchemy import select
from sqlalchemy.orm import Session

from records.models import AuditRow
from records.store import Store

FIRST = "0" * 64
_ID = re.compile(r"[0-9a-f]{32}")


class Outcome(StrEnum):
    """How it ended."""

    DONE = "done"
    REFUSED = "refused"


@dataclass(frozen=True, kw_only=True)
class AuditEntry:
    """One line; `at` in UTC, `object_id` None where it was no id of ours."""

    number: int
    at: datetime
    actor_id: str | None
    action: str
    outcome: Outcome
    object_id: str | None


@dataclass(frozen=True, kw_only=True)
class Chain:
    """What checking the log found: how many lines hold together, and the first that does not (None: all do)."""

    n_entries: int
    broken_at: int | None
    last_sha256: str


def append(
    store: Store,
    session: Session,
    *,
    actor_id: str | None,
    action: str,
    outcome: Outcome = Outcome.DONE,
    object_id: str | None = None,
) -> None:
    """Add a line within the transaction that does what the line says; it holds the write lock, so lines come one by one.

    Parameters
    ----------
    actor_id, object_id : str or None
        Ids of ours; anything else is left out, so that no text of a person ends up here.
    action : str
        The name of the service.
    """
    session.flush()
    last = session.execute(select(AuditRow.number, AuditRow.sha256).order_by(AuditRow.number.desc()).limit(1)).first()
    number, previous = (last.number + 1, last.sha256) if last else (1, FIRST)
    row = AuditRow(
        number=number,
        at=store.now().astimezone(UTC),
        actor_id=_id(actor_id),
        action=action[:40],
        outcome=outcome.value,
        object_id=_id(object_id),
        previous_sha256=previous,
    )
    row.sha256 = _seal(row)
    session.add(row)
    session.flush()


def _id(value: str | None) -> str | None:
    return value if value is not None and _ID.fullmatch(value) else None


def _seal(row: AuditRow) -> str:
    said = [row.number, row.at.astimezone(UTC).isoformat(), row.actor_id, row.action, row.outcome, row.object_id]
    return hashlib.sha256(json.dumps([row.previous_sha256, *said]).encode()).hexdigest()


def check_chain(store: Store) -> Chain:
    """Read the whole log and check every seal and every number."""
    in_order = select(AuditRow).order_by(AuditRow.number).execution_options(yield_per=1000)
    with store.reading() as session, closing(session.scalars(in_order)) as rows:
        previous, number = FIRST, 0
        for row in rows:
            if (row.number, row.previous_sha256) != (number + 1, previous) or row.sha256 != _seal(row):
                return Chain(n_entries=number, broken_at=number + 1, last_sha256=previous)
            number, previous = row.number, row.sha256
        return Chain(n_entries=number, broken_at=None, last_sha256=previous)


def last_entries(session: Session, most: int) -> tuple[AuditEntry, ...]:
    """The newest lines, newest first."""
    rows = session.scalars(select(AuditRow).order_by(AuditRow.number.desc()).limit(most))
    return tuple(
        AuditEntry(
            number=row.number,
            at=row.at,
            actor_id=row.actor_id,
            action=row.action,
            outcome=Outcome(row.outcome),
            object_id=row.object_id,
        )
        for row in rows
    )
