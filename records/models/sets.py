"""Teaching sets, their versions, and the bundles that left this machine."""

from datetime import datetime

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from records.models.base import Base, Json, Key, Short, Word
from records.models.photos import PhotoRow


class SetRow(Base):
    """A teaching set; what stands in it is in its versions."""

    __tablename__ = "teaching_set"

    id: Mapped[Key]
    owner_id: Mapped[str] = mapped_column(ForeignKey("person.id"), index=True)
    title: Mapped[Short]
    made_at: Mapped[datetime]

    versions: Mapped[list["VersionRow"]] = relationship(back_populates="set", order_by="VersionRow.number")


class VersionRow(Base):
    """A version of a set: a draft, or frozen once published. `seal` is the hash of all that was frozen."""

    __tablename__ = "set_version"
    __table_args__ = (
        UniqueConstraint("set_id", "number"),
        CheckConstraint("state IN ('draft', 'published', 'retired')", name="state"),
        CheckConstraint("state = 'draft' OR published_at IS NOT NULL", name="published"),
    )

    id: Mapped[Key]
    set_id: Mapped[str] = mapped_column(ForeignKey("teaching_set.id"), index=True)
    number: Mapped[int]
    state: Mapped[Word]
    notes: Mapped[str] = mapped_column(Text)
    made_at: Mapped[datetime]
    revision: Mapped[int]
    published_at: Mapped[datetime | None]
    published_by: Mapped[str | None] = mapped_column(ForeignKey("person.id"))
    retired_at: Mapped[datetime | None]
    checklist_version: Mapped[str | None] = mapped_column(String(80))
    seal: Mapped[str | None] = mapped_column(String(64))

    set: Mapped[SetRow] = relationship(back_populates="versions", lazy="joined", innerjoin=True)
    photos: Mapped[list["SetPhotoRow"]] = relationship(
        back_populates="version", order_by="SetPhotoRow.position", cascade="all, delete-orphan", passive_deletes=True
    )


class SetPhotoRow(Base):
    """A photo's place in a version. Publishing freezes the key here; a removed photo leaves its place as a mark."""

    __tablename__ = "set_photo"
    __table_args__ = (CheckConstraint("difficulty IN (1, 2, 3)", name="difficulty"),)

    version_id: Mapped[str] = mapped_column(ForeignKey("set_version.id", ondelete="CASCADE"), primary_key=True)
    photo_id: Mapped[str] = mapped_column(ForeignKey("photo.id"), primary_key=True)
    position: Mapped[int]
    difficulty: Mapped[int]
    note: Mapped[str] = mapped_column(Text)
    answers: Mapped[Json | None]
    landmarks: Mapped[Json | None]
    removed_at: Mapped[datetime | None]

    version: Mapped[VersionRow] = relationship(back_populates="photos")
    photo: Mapped[PhotoRow] = relationship(lazy="joined", innerjoin=True)


class BundleRow(Base):
    """A bundle that left: which photos, and to whom, so that a withdrawal can name who still holds a copy."""

    __tablename__ = "bundle"

    id: Mapped[Key]
    version_id: Mapped[str] = mapped_column(ForeignKey("set_version.id"), index=True)
    made_by: Mapped[str] = mapped_column(ForeignKey("person.id"))
    made_at: Mapped[datetime]
    to_whom: Mapped[Short]
    sha256: Mapped[str | None] = mapped_column(String(64))
    file_name: Mapped[str | None] = mapped_column(String(40), unique=True)
    photo_ids: Mapped[list[str]] = mapped_column(JSON(none_as_null=True))
