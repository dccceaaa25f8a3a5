"""What an instructor says to work that was handed in."""

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from records.models.base import Base, Key, Word


class ReviewRow(Base):
    """How far the review of one attempt is; no row means that nobody looked yet."""

    __tablename__ = "review"
    __table_args__ = (CheckConstraint("state IN ('looked_at', 'handed_back', 'done')", name="state"),)

    attempt_id: Mapped[str] = mapped_column(ForeignKey("attempt.id", ondelete="CASCADE"), primary_key=True)
    state: Mapped[Word]
    reviewed_by: Mapped[str] = mapped_column(ForeignKey("person.id"))
    revision: Mapped[int]
    changed_at: Mapped[datetime]


class CommentRow(Base):
    """A comment on an attempt, on one of its items or on one of its points."""

    __tablename__ = "comment"
    __table_args__ = (CheckConstraint("item_id IS NULL OR landmark_id IS NULL", name="one_place"),)

    id: Mapped[Key]
    attempt_id: Mapped[str] = mapped_column(ForeignKey("attempt.id", ondelete="CASCADE"), index=True)
    written_by: Mapped[str] = mapped_column(ForeignKey("person.id"))
    item_id: Mapped[str | None] = mapped_column(String(40))
    landmark_id: Mapped[str | None] = mapped_column(String(40))
    text: Mapped[str] = mapped_column(Text)
    written_at: Mapped[datetime]
