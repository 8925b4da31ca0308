"""Members who asked to be reminded to log their rounds."""

from sqlalchemy import Connection, delete, select

from storage.database import Database
from storage.dialect import insert
from storage.schema import reminders


class Reminders:
    """Who asked, by community."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def ask(self, community_id: int, member_id: int) -> None:
        """Remind a member from now on; harmless twice."""
        now = self._db.now()

        def fn(connection: Connection) -> None:
            statement = insert(connection, reminders).values(
                community_id=community_id, member_id=member_id, updated_at=now
            )
            connection.execute(statement.on_conflict_do_nothing())

        await self._db.write(fn)

    async def end(self, community_id: int, member_id: int) -> None:
        """Remind a member no more; harmless twice."""
        c = reminders.c
        statement = delete(reminders).where(
            c.community_id == community_id, c.member_id == member_id
        )
        await self._db.write(lambda connection: connection.execute(statement))

    async def asked(self, community_id: int, member_id: int) -> bool:
        """Whether a member is to be reminded."""
        return member_id in await self.members(community_id)

    async def members(self, community_id: int) -> list[int]:
        """All who are to be reminded, in order."""
        c = reminders.c
        query = select(c.member_id).where(c.community_id == community_id).order_by(c.member_id)
        found = await self._db.read(lambda connection: connection.execute(query).scalars().all())
        return list(found)
