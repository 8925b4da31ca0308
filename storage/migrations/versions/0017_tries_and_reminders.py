"""A result may tell of several tries at once; members may ask to be reminded of a round."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"


def upgrade() -> None:
    """Apply."""
    op.add_column("results", sa.Column("tries", sa.Integer()))
    op.add_column("results", sa.Column("went_in", sa.Integer()))
    op.create_table(
        "reminders",
        sa.Column("community_id", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("member_id", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", name="pk_reminders"),
    )
