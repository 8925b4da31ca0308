"""The division each member said they play in, event by event."""

from collections.abc import Sequence

from sqlalchemy import select

from storage.database import Database
from storage.dialect import insert
from storage.schema import divisions


class Divisions:
    """Divisions by community, member and event."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(
        self, community_id: int, member_id: int, *, event: str, among: Sequence[str]
    ) -> str | None:
        """A member's division in an event: as they said of it, else what they last said at all.

        ``among`` are the event's divisions, by their folded names; any other counts as unsaid.
        """
        c = divisions.c
        query = (
            select(c.division)
            .where(c.community_id == community_id, c.member_id == member_id)
            .order_by((c.event == event).desc(), c.updated_at.desc(), c.event)
        )
        found = await self._db.read(lambda connection: connection.execute(query).scalars().all())
        folded = {name.casefold(): name for name in among}
        return next((folded[x.casefold()] for x in found if x.casefold() in folded), None)

    async def put(self, community_id: int, member_id: int, division: str, *, event: str) -> None:
        """Keep a member's division in an event in place of whatever was there."""
        change = {"division": division, "updated_at": self._db.now()}
        await self._db.write(
            lambda connection: connection.execute(
                insert(connection, divisions)
                .values(community_id=community_id, member_id=member_id, event=event, **change)
                .on_conflict_do_update(index_elements=list(divisions.primary_key), set_=change)
            )
        )
