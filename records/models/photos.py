"""Consents, the photos that rest on them, and what experts say of a photo."""

from datetime import date, datetime

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from records.models.base import Base, Json, Key, Short, Word


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
    class_id: Mapped[str | None] = mapped_column(ForeignKey("class_group.id"))
    #: Who has authority for the child shown, in what relation; None where no child is shown or nothing was said.
    authority: Mapped[str | None] = mapped_column(String(80))


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
    origin_id: Mapped[str | None] = mapped_column(String(32), index=True)
    look_hash: Mapped[str | None] = mapped_column(String(400))
    proposed_landmarks: Mapped[Json | None]
    proposed_at: Mapped[datetime | None]
    #: Of both files together; None for a photo from before this was counted, and for a removed one.
    n_bytes: Mapped[int | None]

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
    #: Who changed which parts, oldest first; see `records.key.reference_keys`.
    history: Mapped[list[Json] | None] = mapped_column(JSON(none_as_null=True))

    photo: Mapped[PhotoRow] = relationship(back_populates="key")


class ScanRow(Base):
    """The scan of a signed consent form, kept apart from photos."""

    __tablename__ = "consent_scan"

    consent_id: Mapped[str] = mapped_column(ForeignKey("consent.id"), primary_key=True)
    file_name: Mapped[str] = mapped_column(String(40), unique=True)
    sha256: Mapped[str] = mapped_column(String(64))
    added_at: Mapped[datetime]
    n_bytes: Mapped[int | None]


class ExpertKeyRow(Base):
    """How one expert reads a photo; the reference key is made from these or set alone."""

    __tablename__ = "expert_key"

    photo_id: Mapped[str] = mapped_column(ForeignKey("photo.id"), primary_key=True)
    expert_id: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True)
    answers: Mapped[Json]
    landmarks: Mapped[Json | None]
    revision: Mapped[int]
    set_at: Mapped[datetime]
