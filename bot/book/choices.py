"""What a community and its members chose: event, round, divisions; and lines being written."""

from typing import Protocol

from storage.json import Json


class KeyValue(Protocol):
    """Where choices are kept, by community and key."""

    async def get(self, community_id: int, key: str) -> Json:
        """The value, None where nothing was put."""
        ...

    async def put(self, community_id: int, key: str, value: Json) -> None:
        """Keep a value in place of the one there; None forgets it."""
        ...


class Choices:
    """The typed face of the key-value store."""

    def __init__(self, store: KeyValue) -> None:
        self._store = store

    async def event(self, community_id: int) -> str | None:
        """The key of the current event."""
        return await self._text(community_id, "event")

    async def set_event(self, community_id: int, key: str) -> None:
        """Make an event the current one."""
        await self._store.put(community_id, "event", key)

    async def round(self, community_id: int, event_key: str) -> str | None:
        """The current round of an event."""
        return await self._text(community_id, f"round/{event_key}")

    async def set_round(self, community_id: int, event_key: str, name: str) -> None:
        """Make a round the current one of its event."""
        await self._store.put(community_id, f"round/{event_key}", name)

    async def division(self, community_id: int, member_id: int) -> str | None:
        """The division a member said they play in."""
        return await self._text(community_id, f"division/{member_id}")

    async def set_division(self, community_id: int, member_id: int, name: str) -> None:
        """Remember a member's division."""
        await self._store.put(community_id, f"division/{member_id}", name)

    async def drafts(self, community_id: int, member_id: int) -> list[Json]:
        """The lines a coach is writing, the oldest first."""
        found = await self._store.get(community_id, f"drafts/{member_id}")
        return found if isinstance(found, list) else []

    async def set_drafts(self, community_id: int, member_id: int, drafts: list[Json]) -> None:
        """Keep the lines a coach is writing."""
        await self._store.put(community_id, f"drafts/{member_id}", drafts or None)

    async def _text(self, community_id: int, key: str) -> str | None:
        found = await self._store.get(community_id, key)
        return found if isinstance(found, str) else None
