"""What a community and its members chose: event, round, divisions; and lines being written."""

from datetime import datetime

from sqlalchemy import Connection

from shared.keys import EventKey
from storage.json import Json
from storage.settings import CommunitySettings, set_values

EVENT = "event"


class Choices:
    """The typed face of a community's settings."""

    def __init__(self, settings: CommunitySettings) -> None:
        self._settings = settings

    async def event(self, community_id: int) -> EventKey | None:
        """The key of the current event."""
        found = await self._text(community_id, EVENT)
        return EventKey(found) if found else None

    async def set_event(self, community_id: int, key: EventKey) -> None:
        """Make an event the current one."""
        await self._settings.set(community_id, **{EVENT: str(key)})

    async def round(self, community_id: int, event: EventKey) -> str | None:
        """The current round of an event."""
        return await self._text(community_id, _round(event))

    async def set_round(self, community_id: int, event: EventKey, name: str) -> None:
        """Make a round the current one of its event."""
        await self._settings.set(community_id, **{_round(event): name})

    async def round_since(self, community_id: int, event: EventKey) -> datetime | None:
        """Since when the current round of an event is that; None where none was chosen."""
        return await self._settings.set_at(community_id, _round(event))

    async def division(self, community_id: int, member_id: int) -> str | None:
        """The division a member said they play in."""
        return await self._text(community_id, f"division/{member_id}")

    async def set_division(self, community_id: int, member_id: int, name: str) -> None:
        """Remember a member's division."""
        await self._settings.set(community_id, **{f"division/{member_id}": name})

    async def drafts(self, community_id: int, member_id: int) -> list[Json]:
        """The lines a coach is writing, the oldest first."""
        found = await self._settings.get(community_id, f"drafts/{member_id}")
        return found if isinstance(found, list) else []

    async def set_drafts(self, community_id: int, member_id: int, drafts: list[Json]) -> None:
        """Keep the lines a coach is writing."""
        await self._settings.set(community_id, **{f"drafts/{member_id}": drafts or None})

    async def forget_member(self, community_id: int, member_id: int) -> None:
        """Forget a member's division and the lines they were writing."""
        await self._settings.set(community_id, **dict.fromkeys(names_of_member(member_id)))

    async def _text(self, community_id: int, key: str) -> str | None:
        found = await self._settings.get(community_id, key)
        return found if isinstance(found, str) else None


def names_of_member(member_id: int) -> tuple[str, ...]:
    """The settings that are a member's own."""
    return f"division/{member_id}", f"drafts/{member_id}", f"measure/{member_id}"


def _round(event: EventKey) -> str:
    return f"round/{event}"


def set_current(connection: Connection, community_id: int, key: EventKey, at: datetime) -> None:
    """Make an event the current one, inside a transaction."""
    set_values(connection, community_id, {EVENT: str(key)}, at)
