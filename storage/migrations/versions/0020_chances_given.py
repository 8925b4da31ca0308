"""A result keeps the chance of going in that it was given as it was logged."""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"


def upgrade() -> None:
    """Apply."""
    op.add_column("results", sa.Column("chance", sa.Float()))
    op.create_index(
        "ix_results_chances_given",
        "results",
        ["community_id", "id"],
        sqlite_where=sa.text("chance IS NOT NULL"),
        postgresql_where=sa.text("chance IS NOT NULL"),
    )
