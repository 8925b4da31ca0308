"""Results, and the running sums over them."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

ROW_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Apply."""
    _create_results()
    op.create_table(
        "line_sums",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("hole_key", sa.String(200), nullable=False),
        sa.Column("line_key", sa.String(200), nullable=False),
        sa.Column("variant", sa.String(40), nullable=False),
        sa.Column("tries", sa.BigInteger(), nullable=False),
        sa.Column("holed", sa.BigInteger(), nullable=False),
        sa.Column("measured", sa.BigInteger(), nullable=False),
        sa.Column("sum_long", sa.BigInteger(), nullable=False),
        sa.Column("sum_right", sa.BigInteger(), nullable=False),
        sa.Column("sum_long2", sa.BigInteger(), nullable=False),
        sa.Column("sum_right2", sa.BigInteger(), nullable=False),
        sa.Column("sum_product", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("community_id", "hole_key", "line_key", name="pk_line_sums"),
    )
    op.create_table(
        "cell_sums",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("hole_key", sa.String(200), nullable=False),
        sa.Column("line_key", sa.String(200), nullable=False),
        sa.Column("club", sa.String(100), nullable=False),
        sa.Column("grade", sa.String(100), nullable=False),
        sa.Column("cells", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint(
            "community_id", "hole_key", "line_key", "club", "grade", name="pk_cell_sums"
        ),
    )
    op.create_table(
        "vector_sums",
        sa.Column("community_id", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("scope", sa.String(40), nullable=False),
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("entries", sa.BigInteger(), nullable=False),
        sa.Column("total", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("community_id", "scope", "key", name="pk_vector_sums"),
    )


def _create_results() -> None:
    op.create_table(
        "results",
        sa.Column("id", ROW_ID, nullable=False),
        sa.Column("community_id", sa.BigInteger(), nullable=False),
        sa.Column("hole_key", sa.String(200), nullable=False),
        sa.Column("line_key", sa.String(200), nullable=False),
        sa.Column("variant", sa.String(40), nullable=False),
        sa.Column("member_id", sa.BigInteger()),
        sa.Column("author_name", sa.String(200)),
        sa.Column("interaction_id", sa.BigInteger(), nullable=False),
        sa.Column("attempt", sa.Integer(), nullable=False),
        sa.Column("edition", sa.Integer(), nullable=False),
        sa.Column("origin_id", sa.BigInteger()),
        sa.Column("supersedes", sa.BigInteger()),
        sa.Column("wind_along_mmps", sa.Integer()),
        sa.Column("wind_right_mmps", sa.Integer()),
        sa.Column("club", sa.String(100), nullable=False),
        sa.Column("grade", sa.String(100), nullable=False),
        sa.Column("ball", sa.String(100), nullable=False),
        sa.Column("share", sa.Float()),
        sa.Column("holed", sa.Boolean(), nullable=False),
        sa.Column("miss_long_cm", sa.Integer()),
        sa.Column("miss_right_cm", sa.Integer()),
        sa.Column("effect_long_cm", sa.Integer()),
        sa.Column("effect_right_cm", sa.Integer()),
        sa.Column("weight", sa.Float(), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.Column("created_at", TIME, nullable=False),
        sa.Column("removed_at", TIME),
        sa.PrimaryKeyConstraint("id", name="pk_results"),
        sa.ForeignKeyConstraint(["origin_id"], ["results.id"], name="fk_results_origin_id_results"),
        sa.ForeignKeyConstraint(
            ["supersedes"], ["results.id"], name="fk_results_supersedes_results"
        ),
        sa.UniqueConstraint("interaction_id", name="uq_results_interaction_id"),
        sa.UniqueConstraint(
            "community_id",
            "line_key",
            "member_id",
            "attempt",
            "edition",
            name="uq_results_community_id_line_key_member_id_attempt_edition",
        ),
    )
    op.create_index("ix_results_member_id_community_id", "results", ["member_id", "community_id"])
    op.create_index("ix_results_origin_id", "results", ["origin_id"])
