"""The division each member said they play in."""

from sqlalchemy import select

from storage.database import Database
from storage.dialect import insert
from storage.schema import divisions


class Divisions:
    """Divisions by community and member."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, member_id: int) -> str | None:
        """A member's division, None for who never said."""
        c = divisions.c
        query = select(c.division).where(c.community_id == community_id, c.member_id == member_id)
        return await self._db.read(lambda connection: connection.execute(query).scalar())

    async def put(self, community_id: int, member_id: int, division: str) -> None:
        """Keep a member's division in place of whatever was there."""
        change = {"division": division, "updated_at": self._db.now()}
        await self._db.write(
            lambda connection: connection.execute(
                insert(connection, divisions)
                .values(community_id=community_id, member_id=member_id, **change)
                .on_conflict_do_update(index_elements=list(divisions.primary_key), set_=change)
            )
        )
