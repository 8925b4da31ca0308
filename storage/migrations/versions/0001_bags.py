"""Bags: the grades, ball and units of each member."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "bags",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("member_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("grades", sa.JSON(), nullable=False),
        sa.Column("ball", sa.String(100)),
        sa.Column("units", sa.String(20), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", name="pk_bags"),
    )
