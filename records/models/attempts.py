"""Attempts at a photo, and what a person's own clicks spread."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from records.models.base import Base, Json, Key, Short, Word
from records.models.photos import PhotoRow


class AttemptRow(Base):
    """One person's attempt at one photo."""

    __tablename__ = "attempt"
    __table_args__ = (
        CheckConstraint("order_of_work IN ('score_first', 'measure_first')", name="order_of_work"),
        Index("ix_attempt_one_a_slot", "assignment_id", "person_id", "slot", "try_number", unique=True),
    )

    id: Mapped[Key]
    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), index=True)
    photo_id: Mapped[str] = mapped_column(ForeignKey("photo.id"), index=True)
    order_of_work: Mapped[Word]
    step: Mapped[Word]
    started_at: Mapped[datetime]
    handed_in_at: Mapped[datetime | None]
    #: Place in the assignment, from 1; the hidden repeat has a place of its own. None: practised alone.
    assignment_id: Mapped[str | None] = mapped_column(ForeignKey("assignment.id"), index=True)
    slot: Mapped[int | None]
    try_number: Mapped[int] = mapped_column(default=1, server_default="1")

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
