"""Which community's bag and kit answer a member who asks outside its server."""

from sqlalchemy import Column, ColumnElement, Connection, Table, exists, select, union

from storage.database import Database
from storage.dialect import insert
from storage.schema import bags, communities, divisions, homes, results, told_aims


class Homes:
    """Every member's choice, and the communities that know them."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def chosen(self, member_id: int) -> int | None:
        """The community a member chose last; None without one that is still served."""
        c = homes.c
        query = (
            select(c.community_id)
            .where(c.member_id == member_id, _is_served(c.community_id))
            .order_by(c.updated_at.desc())
        )
        return await self._db.read(lambda connection: connection.execute(query).scalar())

    async def choose(self, community_id: int, member_id: int) -> None:
        """Keep a member's choice; earlier ones make way."""
        now = self._db.now()

        def fn(connection: Connection) -> None:
            connection.execute(
                insert(connection, homes)
                .values(community_id=community_id, member_id=member_id, updated_at=now)
                .on_conflict_do_update(
                    index_elements=list(homes.primary_key), set_={"updated_at": now}
                )
            )

        await self._db.write(fn)

    async def known(self, member_id: int) -> list[int]:
        """Communities in which a member has a bag, a division or a result, or asked, in order."""

        def of(table: Table):
            return select(table.c.community_id).where(
                table.c.member_id == member_id, _is_served(table.c.community_id)
            )

        query = union(of(bags), of(divisions), of(results), of(told_aims))
        found = await self._db.read(lambda connection: connection.execute(query).scalars().all())
        return sorted(found)


def _is_served(community_id: Column[int]) -> ColumnElement[bool]:
    """It has not left; each is looked up by its id."""
    c = communities.c
    return ~exists().where(c.id == community_id, c.left_at.is_not(None))
