"""Timed jobs, and the messages that are to stand in a channel."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

ROW_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "jobs",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.Column("due_at", TIME, nullable=False),
        sa.Column("claim", sa.Integer(), nullable=False),
        sa.Column("claimed_until", TIME),
        sa.Column("trouble", sa.Text()),
        sa.Column("done_at", TIME),
        sa.PrimaryKeyConstraint("id", name="pk_jobs"),
        sa.UniqueConstraint("community_id", "kind", "key", name="uq_jobs_community_id_kind_key"),
    )
    op.create_index("ix_jobs_done_at_due_at", "jobs", ["done_at", "due_at"])
    op.create_table(
        "outbox",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("channel_id", sa.BigInteger(), nullable=False),
        sa.Column("message_id", sa.BigInteger()),
        sa.Column("member_id", sa.BigInteger()),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("body", sa.JSON()),
        sa.Column("fingerprint", sa.String(64), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("claim", sa.Integer(), nullable=False),
        sa.Column("claimed_until", TIME),
        sa.Column("trouble", sa.Text()),
        sa.Column("updated_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_outbox"),
        sa.UniqueConstraint("community_id", "key", name="uq_outbox_community_id_key"),
    )
    op.create_index("ix_outbox_message_id", "outbox", ["message_id"])
    op.create_index("ix_outbox_state_claimed_until", "outbox", ["state", "claimed_until"])
    op.create_index("ix_outbox_member_id", "outbox", ["member_id"])
