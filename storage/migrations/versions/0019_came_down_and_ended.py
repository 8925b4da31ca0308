"""A result keeps where a ball came down and where it ended, and the ground it was to finish on."""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"


def upgrade() -> None:
    """Apply."""
    op.add_column("results", sa.Column("ended_long_cm", sa.Integer()))
    op.add_column("results", sa.Column("ended_right_cm", sa.Integer()))
    op.add_column("results", sa.Column("onto", sa.String(20)))
