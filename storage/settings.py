"""What a community has set: a JSON value under a name."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection, delete, select

from storage.database import Database
from storage.dialect import insert
from storage.json import Json, JsonObject
from storage.schema import settings
from storage.versions import bump


class CommunitySettings:
    """The settings of every community; what is not set is None."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, name: str) -> Json:
        """The value under a name, or None."""
        return await self._db.read(lambda connection: value_of(connection, community_id, name))

    async def set_at(self, community_id: int, name: str) -> datetime | None:
        """When the value under a name was last set; None for one that is not set."""
        c = settings.c
        query = select(c.updated_at).where(c.community_id == community_id, c.name == name)
        return await self._db.read(lambda connection: connection.execute(query).scalar())

    async def set(self, community_id: int, **values: Json) -> None:
        """Set one or several values at once; None unsets."""
        now = self._db.now()
        await self._db.write(lambda connection: set_values(connection, community_id, values, now))

    async def change(self, community_id: int, name: str, fn: Callable[[Json], Json]) -> Json:
        """Put ``fn`` of the value (None: not set) in its place, in one step; the new value.

        Two changes at once both count. What ``fn`` raises leaves the value as it was.
        """
        now = self._db.now()
        return await self._db.write(
            lambda connection: change_value(connection, community_id, name, fn, now)
        )


def value_of(connection: Connection, community_id: int, name: str) -> Json:
    """``CommunitySettings.get``, inside a transaction."""
    c = settings.c
    query = select(c.value).where(c.community_id == community_id, c.name == name)
    return connection.execute(query).scalar()


def change_value(
    connection: Connection,
    community_id: int,
    name: str,
    fn: Callable[[Json], Json],
    at: datetime,
) -> Json:
    """``CommunitySettings.change``, inside a transaction."""
    after = fn(value_of(connection, community_id, name))
    set_values(connection, community_id, {name: after}, at)
    return after


def set_values(connection: Connection, community_id: int, values: JsonObject, at: datetime) -> None:
    """``CommunitySettings.set``, inside a transaction."""
    c = settings.c
    bump(connection, community_id, "settings")
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
