"""What was played, whole: set-up, height, spin and aim of a result, and the side of a miss."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Apply."""
    for name in ("carry_cm", "height_cm", "aim_long_cm", "aim_right_cm"):
        op.add_column("results", sa.Column(name, sa.Integer()))
    op.add_column("results", sa.Column("backspin", sa.Float()))
    op.add_column("results", sa.Column("tilt_deg", sa.Float()))
    op.add_column("results", sa.Column("side_long", sa.Integer()))
    op.add_column("results", sa.Column("side_right", sa.Integer()))
