"""A result names its line's revision, its round and its wind; indexes; polls close by a job."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"

TIME = sa.DateTime(timezone=True)


def name(length: int) -> sa.types.TypeEngine[str]:
    """A text in the order of its characters."""
    return sa.String(length).with_variant(sa.String(length, collation="C"), "postgresql")


def upgrade() -> None:
    """Apply."""
    op.add_column("results", sa.Column("line_revision", sa.Integer()))
    op.add_column("results", sa.Column("round", name(200)))
    op.add_column("results", sa.Column("wind_shown", name(200)))
    op.create_index("ix_results_community_id_club_id", "results", ["community_id", "club", "id"])
    op.drop_index("ix_polls_state", "polls")
    op.create_index("ix_polls_state_closed_at", "polls", ["state", "closed_at"])
    _closing_jobs()


def _closing_jobs() -> None:
    polls = sa.table(
        "polls", *map(sa.column, ("id", "community_id", "state")), sa.column("closes_at", TIME)
    )
    jobs = sa.table(
        "jobs",
        *map(sa.column, ("community_id", "kind", "key", "claim", "failures")),
        sa.column("payload", sa.JSON()),
        sa.column("due_at", TIME),
    )
    bind = op.get_bind()
    c = polls.c
    query = sa.select(c.id, c.community_id, c.closes_at).where(c.state != "closed")
    for row in bind.execute(query).all():
        bind.execute(
            sa.insert(jobs).values(
                community_id=row.community_id,
                kind="close poll",
                key=str(row.id),
                payload={"poll": row.id},
                due_at=row.closes_at,
                claim=0,
                failures=0,
            )
        )
