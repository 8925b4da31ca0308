"""What members were told to aim outlives a restart, and other processes know it."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "told_aims",
        sa.Column("community_id", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("member_id", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", name="pk_told_aims"),
    )
