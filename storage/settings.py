"""What a community has set: a JSON value under a name."""

from datetime import datetime

from sqlalchemy import Connection, delete, select

from storage.database import Database
from storage.dialect import insert
from storage.json import Json, JsonObject
from storage.schema import settings


class CommunitySettings:
    """The settings of every community; what is not set is None."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, name: str) -> Json:
        """The value under a name, or None."""
        c = settings.c
        query = select(c.value).where(c.community_id == community_id, c.name == name)
        return await self._db.read(lambda connection: connection.execute(query).scalar())

    async def set_at(self, community_id: int, name: str) -> datetime | None:
        """When the value under a name was last set; None for one that is not set."""
        c = settings.c
        query = select(c.updated_at).where(c.community_id == community_id, c.name == name)
        return await self._db.read(lambda connection: connection.execute(query).scalar())

    async def all(self, community_id: int) -> JsonObject:
        """Every value by its name."""
        query = select(settings.c.name, settings.c.value)
        query = query.where(settings.c.community_id == community_id)
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return {row.name: row.value for row in rows}

    async def set(self, community_id: int, **values: Json) -> None:
        """Set one or several values at once; None unsets."""
        now = self._db.now()
        await self._db.write(lambda connection: set_values(connection, community_id, values, now))

    async def put(self, community_id: int, name: str, value: Json) -> None:
        """Set one value; None unsets."""
        await self.set(community_id, **{name: value})


def set_values(connection: Connection, community_id: int, values: JsonObject, at: datetime) -> None:
    """``CommunitySettings.set``, inside a transaction."""
    c = settings.c
    for name, value in values.items():
        if value is None:
            connection.execute(
                delete(settings).where(c.community_id == community_id, c.name == name)
            )
            continue
        change = {"value": value, "updated_at": at}
        statement = insert(connection, settings).values(
            community_id=community_id, name=name, **change
        )
        connection.execute(
            statement.on_conflict_do_update(index_elements=list(settings.primary_key), set_=change)
        )
