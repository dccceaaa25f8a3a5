"""A student keeps one number within a class, whoever else is erased or comes back; old rows by the order of joining."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_BY_JOINING = """
UPDATE class_member SET number = (
  SELECT count(*) FROM class_member AS other
  WHERE other.class_id = class_member.class_id AND other.part = 'student' AND (
    other.joined_at < class_member.joined_at
    OR (other.joined_at = class_member.joined_at AND other.person_id <= class_member.person_id)
  )
) WHERE part = 'student'
"""
_LAST = """
UPDATE class_group SET last_number = (
  SELECT coalesce(max(number), 0) FROM class_member WHERE class_member.class_id = class_group.id
)
"""


def upgrade() -> None:
    for table, column in (("class_member", "number"), ("class_group", "last_number")):
        op.add_column(table, sa.Column(column, sa.Integer(), nullable=False, server_default="0"))
    op.execute(_BY_JOINING)
    op.execute(_LAST)
