"""What coaches decided about the learning: clubs held, and every decision's reason.

A decision and what it changes happen in one transaction: a pass that began earlier can come
before or after it, not in between, and no decision stands in the list without its effect.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, Row, delete, select

from shared.actor import Author
from storage.audit import tell_audit
from storage.database import Database
from storage.dialect import insert
from storage.json import JsonObject
from storage.schema import decisions, frozen_clubs
from storage.versions import bump


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision; a forgotten coach is None and None."""

    coach_id: int | None
    coach_name: str | None
    what: str
    reason: str
    at: datetime


@dataclass(frozen=True, slots=True)
class FrozenClub:
    """What a club is held at; what ``grades`` means is the caller's."""

    club: str
    reason: str
    grades: JsonObject


class Decisions:
    """Decisions and frozen clubs of every community."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def decide(
        self,
        community_id: int,
        decision: Decision,
        effect: Callable[[Connection], bool],
    ) -> bool:
        """Let ``effect`` happen and keep the decision, both or neither.

        ``effect`` says whether it changed anything; where not, no decision is kept and False
        comes back. ``freeze_club``, ``release_club`` and the functions of results are such effects.
        """

        def fn(connection: Connection) -> bool:
            if not effect(connection):
                return False
            keep_decision(connection, community_id, decision)
            return True

        return await self._db.write(fn)

    async def frozen(self, community_id: int) -> list[FrozenClub]:
        """The clubs held, by name."""
        c = frozen_clubs.c
        query = select(c.club, c.reason, c.grades).where(c.community_id == community_id)
        rows = await self._db.read(
            lambda connection: connection.execute(query.order_by(c.club)).all()
        )
        return [FrozenClub(row.club, row.reason, row.grades) for row in rows]

    async def last(self, community_id: int, *, limit: int = 200) -> list[Decision]:
        """The last decisions, newest first."""
        c = decisions.c
        query = select(decisions).where(c.community_id == community_id)
        query = query.order_by(c.id.desc()).limit(limit)
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return [_decision(row) for row in rows]


def keep_decision(connection: Connection, community_id: int, decision: Decision) -> None:
    """Write a decision down, inside the transaction of its effect."""
    bump(connection, community_id, "belief")
    connection.execute(
        insert(connection, decisions).values(
            community_id=community_id,
            coach_id=decision.coach_id,
            coach_name=decision.coach_name,
            what=decision.what,
            reason=decision.reason,
            at=decision.at,
        )
    )
    coach = Author(decision.coach_id, decision.coach_name or "")
    what = [decision.what]
    tell_audit(connection, community_id, coach, what, decision.reason, at=decision.at)


def freeze_club(
    connection: Connection, community_id: int, frozen: FrozenClub, *, at: datetime
) -> bool:
    """Hold a club, in place of what it was held at before; True."""
    values = {"reason": frozen.reason, "grades": frozen.grades, "at": at}
    connection.execute(
        insert(connection, frozen_clubs)
        .values(community_id=community_id, club=frozen.club, **values)
        .on_conflict_do_update(index_elements=list(frozen_clubs.primary_key), set_=values)
    )
    return True


def release_club(connection: Connection, community_id: int, club: str) -> bool:
    """Let a club go; False where it was not held."""
    c = frozen_clubs.c
    statement = delete(frozen_clubs).where(c.community_id == community_id, c.club == club)
    return connection.execute(statement).rowcount > 0


def _decision(row: Row[*tuple[object, ...]]) -> Decision:
    return Decision(row.coach_id, row.coach_name, row.what, row.reason, row.at)
