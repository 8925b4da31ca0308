"""A result may tell of several tries at once; without a number it is one."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"


def upgrade() -> None:
    """Apply."""
    op.add_column("results", sa.Column("tries", sa.Integer()))
    op.add_column("results", sa.Column("went_in", sa.Integer()))
