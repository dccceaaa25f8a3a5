"""Run by Alembic; `records.storage.schema` hands over an open connection whose transaction it ends itself."""

from typing import Any, Literal

from alembic import context

from records.models import Base, UtcDateTime


def _render(kind: str, item: Any, _autogen: Any) -> str | Literal[False]:
    """Migrations name plain types, so that a later change of our classes does not change what an old one did."""
    if kind == "type" and isinstance(item, UtcDateTime):
        return "sa.DateTime(timezone=True)"
    return False


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    # SQLite cannot alter most of a table: Alembic copies it instead.
    render_as_batch=True,
    render_item=_render,
)
with context.begin_transaction():
    context.run_migrations()
