"""What is kept about a member: all of it as a file, or forgotten. Knows no Discord."""

import json
from dataclasses import dataclass

from sqlalchemy import Connection, select, update

from bot.services.book.choices import names_of_member
from bot.services.members import BagCache
from shared.keys import HoleKey, LineKey
from storage.database import Database
from storage.json import JsonObject
from storage.people import People, forget_member
from storage.schema import revisions
from storage.settings import CommunitySettings, set_values


@dataclass(frozen=True)
class Forgotten:
    """What was taken away; ``holes`` are those whose lines named the member."""

    results: int
    votes: int
    lines: int
    holes: frozenset[HoleKey]


class PrivacyService:
    """Export and forget."""

    def __init__(self, *, db: Database, bags: BagCache) -> None:
        self._db = db
        self._bags = bags
        self._people = People(db)
        self._settings = CommunitySettings(db)

    async def export(self, community_id: int, member_id: int) -> bytes:
        """Everything kept about a member, as JSON."""
        found: dict[str, object] = dict(await self._people.export(community_id, member_id))
        settings: JsonObject = {}
        for name in names_of_member(member_id):
            value = await self._settings.get(community_id, name)
            if value is not None:
                settings[name] = value
        found["settings"] = settings
        return json.dumps(found, ensure_ascii=False, indent=2).encode()

    async def forget(self, community_id: int, member_id: int) -> Forgotten:
        """Take a member's id and name off everything, and their bag and choices away, at once."""
        now = self._db.now()

        def fn(connection: Connection) -> Forgotten:
            holes, lines = _unname_lines(connection, community_id, member_id)
            changed = forget_member(connection, community_id, member_id)
            gone: JsonObject = dict.fromkeys(names_of_member(member_id))
            set_values(connection, community_id, gone, now)
            return Forgotten(changed["results"], changed["votes"], lines, frozenset(holes))

        forgotten = await self._db.write(fn)
        self._bags.drop(community_id, member_id)
        return forgotten


def _unname_lines(
    connection: Connection, community_id: int, member_id: int
) -> tuple[set[HoleKey], int]:
    """Take a member's name out of every revision of the lines they wrote or shared.

    A line names its author in its text, which later revisions by others repeat.
    """
    c = revisions.c
    mine = (c.community_id == community_id, c.author_id == member_id, c.kind == LineKey.kind)
    own = connection.execute(select(c.key, c.author_name).where(*mine)).all()
    names = {row.author_name for row in own if row.author_name}
    keys = {row.key for row in own}
    holes: set[HoleKey] = set()
    count = 0
    for key in keys:
        here = (c.community_id == community_id, c.kind == LineKey.kind, c.key == key)
        named = False
        for row in connection.execute(select(c.id, c.body).where(*here)).all():
            body: JsonObject = json.loads(row.body) if row.body else {}
            if body.get("author") in names:
                del body["author"]
                text = json.dumps(body, ensure_ascii=False)
                connection.execute(update(revisions).where(c.id == row.id).values(body=text))
                named = True
        if named:
            holes.add(LineKey.parse(key).hole)
            count += 1
    return holes, count
