"""What the wind did to a played shot, beside what the law said it would do."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Apply."""
    op.add_column("results", sa.Column("observed_long_cm", sa.Integer()))
    op.add_column("results", sa.Column("observed_right_cm", sa.Integer()))
    op.add_column("results", sa.Column("left_out", sa.String(200)))
