"""Revisions: kits and the book, never overwritten."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

ROW_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "revisions",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("author_id", sa.BigInteger()),
        sa.Column("author_name", sa.String(200)),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_revisions"),
        sa.UniqueConstraint(
            "community_id",
            "kind",
            "key",
            "number",
            name="uq_revisions_community_id_kind_key_number",
        ),
    )
    op.create_index("ix_revisions_author_id", "revisions", ["author_id"])
