"""Photos and scans of consent forms know how many bytes they take up."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for table in ("photo", "consent_scan"):
        op.add_column(table, sa.Column("n_bytes", sa.Integer(), nullable=True))
