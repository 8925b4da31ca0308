"""What is kept about a member: all of it as a file, or forgotten. Knows no Discord."""

import json
from dataclasses import dataclass

from bot.services.members import BagCache, ToldAims
from bot.services.own_data import readable
from shared.keys import HoleKey, LineKey
from storage.database import Database
from storage.people import People, forget_everywhere
from storage.results import Results


@dataclass(frozen=True)
class Forgotten:
    """What was taken away; ``holes`` are those whose lines named the member."""

    results: int
    votes: int
    lines: int
    holes: frozenset[HoleKey]


@dataclass(frozen=True)
class Export:
    """A member's data: ``whole`` is JSON, ``page`` text to read; both UTF-8."""

    whole: bytes
    page: bytes


class PrivacyService:
    """Export and forget."""

    def __init__(self, *, db: Database, bags: BagCache, told: ToldAims) -> None:
        self._db = db
        self._bags = bags
        self._told = told
        self._people = People(db)

    async def export(self, community_id: int, member_id: int) -> Export:
        """Everything kept about a member, whole as JSON and as a page in their own units."""
        found = await self._people.export(community_id, member_id)
        bag = await self._bags.get(community_id, member_id)
        standing = await Results(self._db).of_member(
            community_id, member_id, limit=max(1, len(found["results"]))
        )
        page = readable(found, standing, bag.units)
        return Export(json.dumps(found, ensure_ascii=False, indent=2).encode(), page.encode())

    async def forget(self, community_id: int, member_id: int) -> Forgotten:
        """Take a member's id and name off everything, and their bag and choices away, at once."""
        gone = await self._db.write(
            lambda connection: forget_everywhere(connection, community_id, member_id)
        )
        self._bags.drop(community_id, member_id)
        self._told.drop(community_id, member_id)
        return Forgotten(
            results=gone.rows["results"],
            votes=gone.rows["votes"],
            lines=len(gone.unnamed),
            holes=frozenset(LineKey.parse(key).hole for key in gone.unnamed),
        )
