"""A message whose subject has changed is marked by what changes it; one may insist on standing."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"


def upgrade() -> None:
    """Apply."""
    op.add_column(
        "outbox", sa.Column("stale", sa.Integer(), nullable=False, server_default=sa.text("0"))
    )
    op.add_column(
        "outbox", sa.Column("insists", sa.Boolean(), nullable=False, server_default=sa.false())
    )
    marked = sa.text("stale > 0")
    op.create_index(
        "ix_outbox_stale", "outbox", ["stale"], sqlite_where=marked, postgresql_where=marked
    )
