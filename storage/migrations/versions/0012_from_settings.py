"""Carry member's and coaches' matters from JSON settings into their tables."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"

TIME = sa.DateTime(timezone=True)


def _table(
    name: str, *columns: str, body: str = "body", time: str = "updated_at"
) -> sa.TableClause:
    return sa.table(
        name,
        *map(sa.column, columns),
        sa.column(body, sa.JSON()),
        sa.column(time, TIME),
    )


SETTINGS = _table("settings", "community_id", "name", body="value")
DIVISIONS = _table("divisions", "community_id", "member_id", "division")
DRAFTS = _table("drafts", "community_id", "member_id", "token")
SERIES = _table("measured_series", "community_id", "member_id", "club")
DECISIONS = _table("decisions", "community_id", "coach_name", "what", "reason", time="at")
FROZEN = _table("frozen_clubs", "community_id", "club", "reason", body="grades", time="at")
COMMUNITIES = _table("communities", "id", time="joined_at")


def upgrade() -> None:
    """Apply."""
    bind = op.get_bind()
    _communities(bind)
    moves: dict[str, Callable[[sa.Connection, Any], None]] = {
        "division/": _division,
        "drafts/": _drafts,
        "measure/": _series,
        "frozen_gains": _frozen,
        "gain_log": _log,
    }
    c = SETTINGS.c
    for row in bind.execute(sa.select(c.community_id, c.name, c.value, c.updated_at)).all():
        for prefix, move in moves.items():
            if row.name.startswith(prefix):
                move(bind, row)
                here = (c.community_id == row.community_id, c.name == row.name)
                bind.execute(sa.delete(SETTINGS).where(*here))


def _member(row: Any) -> int:
    return int(row.name.partition("/")[2])


def _division(bind: sa.Connection, row: Any) -> None:
    if isinstance(row.value, str):
        bind.execute(
            sa.insert(DIVISIONS).values(
                community_id=row.community_id,
                member_id=_member(row),
                division=row.value[:200],
                updated_at=row.updated_at,
            )
        )


def _drafts(bind: sa.Connection, row: Any) -> None:
    bodies: list[dict[str, Any]] = row.value or []
    for body in bodies:
        bind.execute(
            sa.insert(DRAFTS).values(
                community_id=row.community_id,
                member_id=_member(row),
                token=body["token"],
                body=body,
                updated_at=row.updated_at,
            )
        )


def _series(bind: sa.Connection, row: Any) -> None:
    series: dict[str, Any] = row.value or {}
    for club, body in series.items():
        bind.execute(
            sa.insert(SERIES).values(
                community_id=row.community_id,
                member_id=_member(row),
                club=club,
                body=body,
                updated_at=row.updated_at,
            )
        )


def _frozen(bind: sa.Connection, row: Any) -> None:
    frozen: dict[str, dict[str, Any]] = row.value or {}
    for club, held in frozen.items():
        bind.execute(
            sa.insert(FROZEN).values(
                community_id=row.community_id,
                club=club,
                reason=held["reason"],
                grades=held["grades"],
                at=row.updated_at,
            )
        )


def _log(bind: sa.Connection, row: Any) -> None:
    log: list[tuple[str, str, str, str]] = row.value or []
    for at, coach, what, reason in log:
        time = datetime.fromisoformat(at)
        bind.execute(
            sa.insert(DECISIONS).values(
                community_id=row.community_id,
                coach_name=coach[:200],
                what=what,
                reason=reason,
                at=(time if time.tzinfo else time.replace(tzinfo=UTC)).astimezone(UTC),
            )
        )


def _communities(bind: sa.Connection) -> None:
    """Everybody who left a trace; who is not served any more is found at the next start."""
    known: set[int] = set()
    for name in ("settings", "revisions", "results", "bags", "outbox", "polls"):
        whose = sa.column("community_id", sa.BigInteger())
        query = sa.select(whose).select_from(sa.table(name)).distinct()
        known.update(bind.execute(query).scalars())
    now = datetime.now(UTC)
    for community_id in sorted(known):
        bind.execute(sa.insert(COMMUNITIES).values(id=community_id, joined_at=now))
