"""Outbox and jobs: random nonces, causes and waiting times of failures; order by code point."""

import secrets

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0008"

TIME = sa.DateTime(timezone=True)
NONCE_BYTES = 12


def upgrade() -> None:
    """Apply."""
    _outbox()
    _jobs()
    if op.get_bind().dialect.name == "postgresql":
        _order_by_code_point()


def _outbox() -> None:
    op.add_column("outbox", sa.Column("nonce", sa.String(25)))
    op.add_column("outbox", sa.Column("attempts", sa.Integer()))
    op.add_column("outbox", sa.Column("not_before", TIME))
    outbox = sa.table("outbox", sa.column("id"), sa.column("nonce"), sa.column("attempts"))
    bind = op.get_bind()
    for row_id in bind.execute(sa.select(outbox.c.id)).scalars().all():
        nonce = secrets.token_hex(NONCE_BYTES)
        bind.execute(sa.update(outbox).where(outbox.c.id == row_id).values(nonce=nonce, attempts=0))
    with _rebuilt("outbox") as table:
        table.alter_column("nonce", existing_type=sa.String(25), nullable=False)
        table.alter_column("attempts", existing_type=sa.Integer(), nullable=False)
    op.create_index("ix_outbox_channel_id", "outbox", ["channel_id"])


def _jobs() -> None:
    op.add_column("jobs", sa.Column("failures", sa.Integer()))
    op.add_column("jobs", sa.Column("outcome", sa.String(20)))
    jobs = sa.table("jobs", *map(sa.column, ("failures", "outcome", "done_at", "trouble")))
    bind = op.get_bind()
    bind.execute(sa.update(jobs).values(failures=0))
    bind.execute(sa.update(jobs).where(jobs.c.done_at.is_not(None)).values(outcome="done"))
    cancelled = jobs.c.done_at.is_not(None) & (jobs.c.trouble == "cancelled")
    bind.execute(sa.update(jobs).where(cancelled).values(outcome="cancelled", trouble=None))
    with _rebuilt("jobs") as table:
        table.alter_column("failures", existing_type=sa.Integer(), nullable=False)


def _rebuilt(table: str):
    """A change of columns; on SQLite with row ids that are never used again."""
    return op.batch_alter_table(
        table,
        recreate="always" if op.get_bind().dialect.name == "sqlite" else "never",
        table_kwargs={"sqlite_autoincrement": True},
    )


def _order_by_code_point() -> None:
    """A key's prefix is a range of keys only where texts are in the order of their characters."""
    bind = op.get_bind()
    found = bind.execute(
        sa.text(
            "SELECT table_name, column_name, character_maximum_length"
            " FROM information_schema.columns"
            " WHERE table_schema = current_schema() AND data_type = 'character varying'"
            " AND table_name <> 'alembic_version' AND collation_name IS DISTINCT FROM 'C'"
        )
    )
    for table, column, length in found.all():
        bind.exec_driver_sql(
            f'ALTER TABLE "{table}" ALTER COLUMN "{column}" TYPE VARCHAR({length}) COLLATE "C"'
        )
