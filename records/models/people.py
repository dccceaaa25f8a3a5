"""People: who acts, in which roles, how they sign in, and what they did."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from records.models.base import Base, Json, Key, Short, Word

_ROLES = "('educator', 'instructor', 'student')"


class PersonRow(Base):
    """Someone who acts. After erasing, a random handle is left so that what others wrote still has an end."""

    __tablename__ = "person"

    id: Mapped[Key]
    handle: Mapped[Short] = mapped_column(unique=True)
    created_at: Mapped[datetime]
    erased_at: Mapped[datetime | None]


class RoleRow(Base):
    """A role that someone holds."""

    __tablename__ = "person_role"
    __table_args__ = (CheckConstraint(f"role IN {_ROLES}", name="role"),)

    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True)
    role: Mapped[str] = mapped_column(String(24), primary_key=True)
    given_by: Mapped[str | None] = mapped_column(ForeignKey("person.id"))
    given_at: Mapped[datetime]


class AccountRow(Base):
    """How a person signs in here; the person at this computer who works alone has none."""

    __tablename__ = "account"

    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True)
    password_hash: Mapped[str] = mapped_column(String(200))
    must_change: Mapped[bool]
    set_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]


class IdentityRow(Base):
    """Someone whom another system of the school vouches for (OpenID Connect): its address and its name for them."""

    __tablename__ = "identity"

    issuer: Mapped[str] = mapped_column(String(300), primary_key=True)
    subject: Mapped[str] = mapped_column(String(300), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), index=True)
    linked_at: Mapped[datetime]


class SessionRow(Base):
    """A browser that is signed in; only the hash of its token is kept."""

    __tablename__ = "session"

    token_sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("person.id"), index=True)
    started_at: Mapped[datetime]
    seen_at: Mapped[datetime]
    ends_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class TriesRow(Base):
    """How often signing in or joining went wrong of late, by a hash of what was tried."""

    __tablename__ = "tries"

    what_sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    count: Mapped[int]
    first_at: Mapped[datetime]
    closed_until: Mapped[datetime | None]


class SettingRow(Base):
    """What a school chose for this installation."""

    __tablename__ = "setting"

    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    value: Mapped[Json]


class AuditRow(Base):
    """One line of the audit log: ids only, each line sealed with the hash of the one before."""

    __tablename__ = "audit_entry"
    __table_args__ = (CheckConstraint("outcome IN ('done', 'refused')", name="outcome"),)

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime]
    actor_id: Mapped[str | None] = mapped_column(String(32))
    action: Mapped[str] = mapped_column(String(40))
    outcome: Mapped[Word]
    object_id: Mapped[str | None] = mapped_column(String(32))
    previous_sha256: Mapped[str] = mapped_column(String(64))
    sha256: Mapped[str] = mapped_column(String(64), unique=True)
