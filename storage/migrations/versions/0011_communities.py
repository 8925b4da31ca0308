"""Communities, versions, and tables for what was a JSON value read, changed and written back."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"

ROW_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)


def name(length: int) -> sa.types.TypeEngine[str]:
    """A text in the order of its characters."""
    return sa.String(length).with_variant(sa.String(length, collation="C"), "postgresql")


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "communities",
        sa.Column("id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("joined_at", TIME, nullable=False),
        sa.Column("left_at", TIME),
        sa.PrimaryKeyConstraint("id", name="pk_communities"),
    )
    op.create_index("ix_communities_left_at", "communities", ["left_at"])
    op.create_table(
        "versions",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", name(20), nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("community_id", "kind", name="pk_versions"),
    )
    _members()
    _decisions()


def _members() -> None:
    op.create_table(
        "divisions",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("member_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("division", name(200), nullable=False),
        sa.Column("updated_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", name="pk_divisions"),
    )
    op.create_table(
        "drafts",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("member_id", sa.BigInteger(), nullable=False),
        sa.Column("token", name(40), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("updated_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_drafts"),
        sa.UniqueConstraint(
            "community_id", "member_id", "token", name="uq_drafts_community_id_member_id_token"
        ),
    )
    op.create_table(
        "measured_series",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("member_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("club", name(100), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("updated_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("community_id", "member_id", "club", name="pk_measured_series"),
    )


def _decisions() -> None:
    op.create_table(
        "decisions",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("coach_id", sa.BigInteger()),
        sa.Column("coach_name", name(200)),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_decisions"),
    )
    op.create_index("ix_decisions_community_id_id", "decisions", ["community_id", "id"])
    op.create_table(
        "frozen_clubs",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("club", name(100), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("grades", sa.JSON(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("community_id", "club", name="pk_frozen_clubs"),
    )
