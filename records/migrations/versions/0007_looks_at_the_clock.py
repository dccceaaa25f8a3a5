"""A class remembers on which days its last day was seen to be over, before its work is erased."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("class_group", sa.Column("seen_over", sa.JSON(none_as_null=True), nullable=True))
