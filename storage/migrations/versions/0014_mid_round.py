"""Answers for a member alone, the community that answers them elsewhere, and their round."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"

TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Apply."""
    op.add_column(
        "bags", sa.Column("private", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    op.create_table(
        "homes",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("member_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("updated_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", name="pk_homes"),
    )
    op.create_index("ix_homes_member_id_updated_at", "homes", ["member_id", "updated_at"])
    op.create_table(
        "member_rounds",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("member_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("updated_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", name="pk_member_rounds"),
    )
