"""What a community chose: its event and the round of it."""

from datetime import datetime

from sqlalchemy import Connection

from shared.keys import EventKey
from storage.database import Database
from storage.settings import CommunitySettings, set_values
from storage.stale import mark_event

EVENT = "event"


class Choices:
    """The typed face of a community's settings."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self._settings = CommunitySettings(db)

    async def event(self, community_id: int) -> EventKey | None:
        """The key of the current event."""
        found = await self._text(community_id, EVENT)
        return EventKey(found) if found else None

    async def set_event(self, community_id: int, key: EventKey) -> None:
        """Make an event the current one."""
        now = self._db.now()
        await self._db.write(lambda connection: set_current(connection, community_id, key, now))

    async def round(self, community_id: int, event: EventKey) -> str | None:
        """The current round of an event."""
        return await self._text(community_id, _round(event))

    async def set_round(self, community_id: int, event: EventKey, name: str) -> None:
        """Make a round the current one of its event."""
        now = self._db.now()

        def fn(connection: Connection) -> None:
            set_values(connection, community_id, {_round(event): name}, now)
            mark_event(connection, community_id, str(event))

        await self._db.write(fn)

    async def round_since(self, community_id: int, event: EventKey) -> datetime | None:
        """Since when the current round of an event is that; None where none was chosen."""
        return await self._settings.set_at(community_id, _round(event))

    async def _text(self, community_id: int, key: str) -> str | None:
        found = await self._settings.get(community_id, key)
        return found if isinstance(found, str) else None


def _round(event: EventKey) -> str:
    return f"round/{event}"


def set_current(connection: Connection, community_id: int, key: EventKey, at: datetime) -> None:
    """Make an event the current one, inside a transaction."""
    set_values(connection, community_id, {EVENT: str(key)}, at)
    mark_event(connection, community_id, str(key))
