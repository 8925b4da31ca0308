"""A member's division is that of an event; what was said before stands for all of them."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0014"


def name(length: int) -> sa.types.TypeEngine[str]:
    """A text in the order of its characters."""
    return sa.String(length).with_variant(sa.String(length, collation="C"), "postgresql")


def upgrade() -> None:
    """Apply."""
    bind = op.get_bind()
    time = sa.DateTime(timezone=True)
    columns = ("community_id", "member_id", "division")
    old = sa.table("divisions", *map(sa.column, columns), sa.column("updated_at", time))
    rows: list[dict[str, Any]] = [dict(row) for row in bind.execute(sa.select(old)).mappings()]
    op.drop_table("divisions")
    new = op.create_table(
        "divisions",
        sa.Column("community_id", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("member_id", sa.BigInteger(), nullable=False, autoincrement=False),
        sa.Column("event", name(200), nullable=False),
        sa.Column("division", name(200), nullable=False),
        sa.Column("updated_at", time, nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", "event", name="pk_divisions"),
    )
    if rows:
        op.bulk_insert(new, [row | {"event": ""} for row in rows])
