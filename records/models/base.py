"""What all tables share: types that SQLite and PostgreSQL both have, and names of constraints by one rule."""

from datetime import UTC, date, datetime
from typing import Annotated, Any

from sqlalchemy import JSON, Date, DateTime, Dialect, MetaData, String, TypeDecorator
from sqlalchemy.orm import DeclarativeBase, mapped_column


class UtcDateTime(TypeDecorator[datetime]):
    """A moment; SQLite keeps no time zone, so all are turned to UTC on the way in and marked as UTC on the way out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        if value is None or value.tzinfo is not None:
            return value
        return value.replace(tzinfo=UTC)


Key = Annotated[str, mapped_column(String(32), primary_key=True)]
Short = Annotated[str, mapped_column(String(80))]
Word = Annotated[str, mapped_column(String(24))]
Json = dict[str, Any]


class Base(DeclarativeBase):
    """Base of all tables; constraints are named by one rule so that migrations can find them again."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_name)s",
            "uq": "uq_%(table_name)s_%(column_0_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012
        Json: JSON(none_as_null=True),
        datetime: UtcDateTime(),
        date: Date(),
    }
