"""A reference key remembers who changed which parts of it."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("reference_key", sa.Column("history", sa.JSON(none_as_null=True), nullable=True))
