"""Classes, who belongs to them, and the work that they are given."""

from datetime import date, datetime

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from records.models.base import Base, Key, Short, Word
from records.models.sets import VersionRow


class ClassRow(Base):
    """A class; its work is erased after `keep_until`. `last_number` is the highest that a student of it was ever given."""

    __tablename__ = "class_group"

    id: Mapped[Key]
    title: Mapped[Short]
    made_by: Mapped[str] = mapped_column(ForeignKey("person.id"))
    made_at: Mapped[datetime]
    keep_until: Mapped[date]
    erased_at: Mapped[datetime | None]
    last_number: Mapped[int] = mapped_column(default=0, server_default="0")
    #: The first days on which the last day was seen to be over (ISO 8601); None where it is not.
    seen_over: Mapped[list[str] | None] = mapped_column(JSON(none_as_null=True))


class MemberRow(Base):
    """Someone's place in a class; a student's number (from 1) lasts, an instructor has none (0)."""

    __tablename__ = "class_member"
    __table_args__ = (CheckConstraint("part IN ('instructor', 'student')", name="part"),)

    class_id: Mapped[str] = mapped_column(ForeignKey("class_group.id"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True, index=True)
    part: Mapped[Word]
    joined_at: Mapped[datetime]
    left_at: Mapped[datetime | None]
    number: Mapped[int] = mapped_column(default=0, server_default="0")


class JoinCodeRow(Base):
    """A code with which one joins a class until it ends; only its hash is kept."""

    __tablename__ = "join_code"

    id: Mapped[Key]
    class_id: Mapped[str] = mapped_column(ForeignKey("class_group.id"), index=True)
    code_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    made_by: Mapped[str] = mapped_column(ForeignKey("person.id"))
    made_at: Mapped[datetime]
    ends_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class AssignmentRow(Base):
    """A published version of a set, given to a class."""

    __tablename__ = "assignment"
    __table_args__ = (
        CheckConstraint("order_of_work IN ('score_first', 'measure_first')", name="order_of_work"),
        CheckConstraint("key_rule IN ('after_each', 'after_due', 'when_opened')", name="key_rule"),
    )

    id: Mapped[Key]
    class_id: Mapped[str] = mapped_column(ForeignKey("class_group.id"), index=True)
    version_id: Mapped[str] = mapped_column(ForeignKey("set_version.id"), index=True)
    title: Mapped[Short]
    given_by: Mapped[str] = mapped_column(ForeignKey("person.id"))
    given_at: Mapped[datetime]
    due_at: Mapped[datetime | None]
    order_of_work: Mapped[Word]
    places_twice: Mapped[bool]
    hidden_repeat: Mapped[bool]
    key_rule: Mapped[Word]
    key_opened_at: Mapped[datetime | None]
    closed_at: Mapped[datetime | None]

    group: Mapped[ClassRow] = relationship(lazy="joined", innerjoin=True)
    version: Mapped[VersionRow] = relationship(lazy="select")


class OptOutRow(Base):
    """Someone left out a photo of an assignment (slot), or all of it (slot 0); no reason is asked or kept."""

    __tablename__ = "opt_out"

    assignment_id: Mapped[str] = mapped_column(ForeignKey("assignment.id"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True)
    slot: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
