"""Polls, and every vote given or taken back."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

ROW_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "polls",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("channel_id", sa.BigInteger(), nullable=False),
        sa.Column("message_id", sa.BigInteger()),
        sa.Column("hole_key", sa.String(200)),
        sa.Column("question", sa.Text(), nullable=False),
        sa.Column("answers", sa.JSON(), nullable=False),
        sa.Column("closes_at", TIME, nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("ended", sa.String(20)),
        sa.Column("told", sa.JSON()),
        sa.Column("created_at", TIME, nullable=False),
        sa.Column("closed_at", TIME),
        sa.PrimaryKeyConstraint("id", name="pk_polls"),
        sa.UniqueConstraint("message_id", name="uq_polls_message_id"),
    )
    op.create_index("ix_polls_community_id_hole_key", "polls", ["community_id", "hole_key"])
    op.create_index("ix_polls_state", "polls", ["state"])
    op.create_table(
        "votes",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("poll_id", sa.BigInteger(), nullable=False),
        sa.Column("member_id", sa.BigInteger(), nullable=False),
        sa.Column("answer", sa.Integer(), nullable=False),
        sa.Column("added", sa.Boolean(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_votes"),
        sa.ForeignKeyConstraint(["poll_id"], ["polls.id"], name="fk_votes_poll_id_polls"),
    )
    op.create_index(
        "ix_votes_poll_id_member_id_answer", "votes", ["poll_id", "member_id", "answer"]
    )
    op.create_index("ix_votes_member_id_community_id", "votes", ["member_id", "community_id"])
