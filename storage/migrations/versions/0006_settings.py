"""Settings of each community."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "settings",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("community_id", "name", name="pk_settings"),
    )
