"""Who has authority for a child that a consent is about, in a column of its own."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("consent", sa.Column("authority", sa.String(length=80), nullable=True))
