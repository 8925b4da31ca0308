"""Aims that members were told lately: each member's newest, in the order they were told."""

from collections.abc import Mapping, Sequence

from sqlalchemy import ColumnElement, Connection, select

from storage.database import Database
from storage.dialect import insert
from storage.json import JsonObject
from storage.schema import told_aims

Member = tuple[int, int]  # community, member
KEPT_AIMS = 24  # a member's; a round of nine holes asked twice over, with some to spare


class KeptAims:
    """Aims by community and member; what one says is the caller's."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self.now = db.now

    async def of(self, community_id: int, member_id: int) -> list[JsonObject]:
        """A member's aims, the one told last at the end."""
        return await self._db.read(lambda connection: _of(connection, (community_id, member_id)))

    async def add(self, told: Mapping[Member, Sequence[JsonObject]]) -> None:
        """Keep aims behind those that are kept, of as many members as there are; all or none."""
        now = self._db.now()

        def fn(connection: Connection) -> None:
            for member, aims in sorted(told.items()):
                values = {"body": [*_of(connection, member), *aims][-KEPT_AIMS:], "updated_at": now}
                connection.execute(
                    insert(connection, told_aims)
                    .values(community_id=member[0], member_id=member[1], **values)
                    .on_conflict_do_update(index_elements=list(told_aims.primary_key), set_=values)
                )

        await self._db.write(fn)


def _of(connection: Connection, member: Member) -> list[JsonObject]:
    body = connection.execute(select(told_aims.c.body).where(*_at(member))).scalar()
    return list(body or ())


def _at(member: Member) -> tuple[ColumnElement[bool], ...]:
    return told_aims.c.community_id == member[0], told_aims.c.member_id == member[1]
