"""Where each member is in their round, and the wind of each hole as they had it."""

from collections.abc import Callable

from sqlalchemy import Connection, select

from storage.database import Database
from storage.dialect import insert
from storage.json import JsonObject
from storage.schema import member_rounds

Change = Callable[[JsonObject | None], JsonObject]


class MemberRounds:
    """Rounds by community and member; what a body means is the caller's."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, member_id: int) -> JsonObject | None:
        """The member's round; None for who began none."""
        return await self._db.read(
            lambda connection: _round_of(connection, community_id, member_id)
        )

    async def change(self, community_id: int, member_id: int, change: Change) -> JsonObject:
        """Put ``change`` of the round (None: none) in its place, in one step; the new one."""
        now = self._db.now()

        def fn(connection: Connection) -> JsonObject:
            body = change(_round_of(connection, community_id, member_id))
            values = {"body": body, "updated_at": now}
            connection.execute(
                insert(connection, member_rounds)
                .values(community_id=community_id, member_id=member_id, **values)
                .on_conflict_do_update(index_elements=list(member_rounds.primary_key), set_=values)
            )
            return body

        return await self._db.write(fn)


def _round_of(connection: Connection, community_id: int, member_id: int) -> JsonObject | None:
    c = member_rounds.c
    query = select(c.body).where(c.community_id == community_id, c.member_id == member_id)
    return connection.execute(query).scalar()
