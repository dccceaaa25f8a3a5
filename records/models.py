"""The tables. Only this package sees them: services hand out frozen dataclasses.

Types are kept to what SQLite and PostgreSQL both have: text for enumerations and ids, JSON for answers and points.
"""

from datetime import UTC, date, datetime
from typing import Annotated, Any

from sqlalchemy import (
    JSON,
    CheckConstraint,
    Date,
    DateTime,
    Dialect,
    ForeignKey,
    MetaData,
    String,
    TypeDecorator,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship


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


class PersonRow(Base):
    """Someone who practises."""

    __tablename__ = "person"

    id: Mapped[Key]
    handle: Mapped[Short] = mapped_column(unique=True)
    created_at: Mapped[datetime]


class ConsentRow(Base):
    """A line of the ledger; never deleted, only marked as withdrawn. Without `recorded_by` it came with the program."""

    __tablename__ = "consent"
    __table_args__ = (
        CheckConstraint("kind IN ('doll', 'person')", name="kind"),
        CheckConstraint("kind = 'doll' OR (expires_on IS NOT NULL AND expires_on >= given_on)", name="days"),
    )

    id: Mapped[Key]
    recorded_by: Mapped[str | None] = mapped_column(ForeignKey("person.id"), index=True)
    recorded_at: Mapped[datetime]
    kind: Mapped[Word]
    shown: Mapped[Short]
    given_by: Mapped[Short]
    scopes: Mapped[list[str]] = mapped_column(JSON(none_as_null=True))
    faces_covered: Mapped[bool]
    given_on: Mapped[date]
    expires_on: Mapped[date | None]
    form_version: Mapped[Short]
    withdrawn_on: Mapped[date | None]


class PhotoRow(Base):
    """A photo, or, once `removed_at` is set, the mark that there was one, so that scores of it stay together."""

    __tablename__ = "photo"
    __table_args__ = (
        CheckConstraint(
            "(removed_at IS NULL AND title IS NOT NULL AND width > 0 AND height > 0 AND file_name IS NOT NULL"
            " AND sha256 IS NOT NULL AND screen_file_name IS NOT NULL AND screen_sha256 IS NOT NULL)"
            " OR (removed_at IS NOT NULL AND title IS NULL AND width IS NULL AND height IS NULL AND file_name IS NULL"
            " AND sha256 IS NULL AND screen_file_name IS NULL AND screen_sha256 IS NULL)",
            name="all_or_nothing",
        ),
    )

    id: Mapped[Key]
    owner_id: Mapped[str | None] = mapped_column(ForeignKey("person.id"), index=True)
    consent_id: Mapped[str] = mapped_column(ForeignKey("consent.id"), index=True)
    sample_id: Mapped[str | None] = mapped_column(String(80), unique=True)
    title: Mapped[str | None] = mapped_column(String(80))
    width: Mapped[int | None]
    height: Mapped[int | None]
    file_name: Mapped[str | None] = mapped_column(String(40), unique=True)
    sha256: Mapped[str | None] = mapped_column(String(64), index=True)
    screen_file_name: Mapped[str | None] = mapped_column(String(40), unique=True)
    screen_sha256: Mapped[str | None] = mapped_column(String(64))
    added_at: Mapped[datetime]
    removed_at: Mapped[datetime | None]

    consent: Mapped[ConsentRow] = relationship(lazy="joined", innerjoin=True)
    key: Mapped["KeyRow | None"] = relationship(lazy="select", back_populates="photo")


class KeyRow(Base):
    """The reference key of a photo; `landmarks` goes when the photo goes."""

    __tablename__ = "reference_key"

    photo_id: Mapped[str] = mapped_column(ForeignKey("photo.id"), primary_key=True)
    answers: Mapped[Json]
    landmarks: Mapped[Json | None]
    revision: Mapped[int]
    set_at: Mapped[datetime]

    photo: Mapped[PhotoRow] = relationship(back_populates="key")


class AttemptRow(Base):
    """One person's attempt at one photo."""

    __tablename__ = "attempt"
    __table_args__ = (CheckConstraint("order_of_work IN ('score_first', 'measure_first')", name="order_of_work"),)

    id: Mapped[Key]
    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), index=True)
    photo_id: Mapped[str] = mapped_column(ForeignKey("photo.id"), index=True)
    order_of_work: Mapped[Word]
    step: Mapped[Word]
    started_at: Mapped[datetime]
    handed_in_at: Mapped[datetime | None]

    photo: Mapped[PhotoRow] = relationship(lazy="joined", innerjoin=True)
    sheets: Mapped[list["SheetRow"]] = relationship(cascade="all, delete-orphan", passive_deletes=True)
    points: Mapped[list["PointsRow"]] = relationship(cascade="all, delete-orphan", passive_deletes=True)
    measurement: Mapped["MeasurementRow | None"] = relationship(cascade="all, delete-orphan", passive_deletes=True)


class SheetRow(Base):
    """The answers of one round of an attempt."""

    __tablename__ = "sheet"
    __table_args__ = (CheckConstraint("round IN (1, 2)", name="round"),)

    attempt_id: Mapped[str] = mapped_column(ForeignKey("attempt.id", ondelete="CASCADE"), primary_key=True)
    round: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    answers: Mapped[Json]
    revision: Mapped[int]
    saved_at: Mapped[datetime]


class PointsRow(Base):
    """The landmarks of one round of an attempt; round 2 is the blind repeat."""

    __tablename__ = "placed_points"
    __table_args__ = (CheckConstraint("round IN (1, 2)", name="round"),)

    attempt_id: Mapped[str] = mapped_column(ForeignKey("attempt.id", ondelete="CASCADE"), primary_key=True)
    round: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    landmarks: Mapped[Json]
    revision: Mapped[int]
    saved_at: Mapped[datetime]


class MeasurementRow(Base):
    """The measures of an attempt as they were when it was handed in, and the versions that made them."""

    __tablename__ = "measurement"

    attempt_id: Mapped[str] = mapped_column(ForeignKey("attempt.id", ondelete="CASCADE"), primary_key=True)
    measures: Mapped[Json]
    measure_version: Mapped[Short]
    checklist_version: Mapped[Short]


class OwnSigmaRow(Base):
    """One repeat of clicking: standard deviation of a coordinate in percent of face size."""

    __tablename__ = "own_sigma"
    __table_args__ = (CheckConstraint("sigma_percent >= 0 AND n_points > 0", name="positive"),)

    id: Mapped[Key]
    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), index=True)
    attempt_id: Mapped[str | None] = mapped_column(ForeignKey("attempt.id", ondelete="SET NULL"), unique=True)
    sigma_percent: Mapped[float]
    n_points: Mapped[int]
    measured_at: Mapped[datetime]
