"""Reading the audit log, for whoever oversees a school."""

from dataclasses import dataclass

from records.auditing.audit import AuditEntry, Chain, check_chain, last_entries
from records.identity.people import Person
from records.rights import Right, service
from records.store import Store


@dataclass(frozen=True, kw_only=True)
class AuditLog:
    """The newest lines, newest first, and whether all lines hold together."""

    entries: tuple[AuditEntry, ...]
    chain: Chain


@service(Right.READ_AUDIT)
def read_log(store: Store, person: Person, *, most: int = 50) -> AuditLog:  # noqa: ARG001
    """The last `most` lines. Raises NotAllowed."""
    chain = check_chain(store)
    with store.reading() as session:
        return AuditLog(entries=last_entries(session, most), chain=chain)
