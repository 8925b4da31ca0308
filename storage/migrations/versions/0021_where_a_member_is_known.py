"""Which communities know a member is asked per keystroke outside a server: by indexes."""

from alembic import op

revision = "0021"
down_revision = "0020"

TABLES = ("bags", "divisions", "told_aims")


def upgrade() -> None:
    """Apply."""
    for table in TABLES:
        op.create_index(f"ix_{table}_member_id", table, ["member_id"])
