"""Who is served, who is not any more, and taking away what is kept of those who left."""

from collections.abc import Collection
from datetime import timedelta

from sqlalchemy import Column, Connection, Select, Table, case, delete, func, select, update

from storage.database import Database
from storage.dialect import insert
from storage.schema import communities, metadata


class Communities:
    """Every community that is served or was."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def here(self, community_ids: Collection[int]) -> None:
        """These are served; one that had left is back."""
        now = self._db.now()
        rows = [{"id": each, "joined_at": now} for each in sorted(set(community_ids))]

        def fn(connection: Connection) -> None:
            if rows:
                first = insert(connection, communities).on_conflict_do_nothing()
                connection.execute(first, rows)
            c = communities.c
            back = update(communities).where(c.id.in_([row["id"] for row in rows]))
            connection.execute(back.where(c.left_at.is_not(None)).values(left_at=None))

        await self._db.write(fn)

    async def served(self) -> list[int]:
        """The communities of this process that have not left."""
        c = communities.c
        query = select(c.id).where(c.left_at.is_(None), self._db.serves(c.id))
        rows = await self._db.read(
            lambda connection: connection.execute(query.order_by(communities.c.id)).scalars().all()
        )
        return list(rows)

    async def somewhere(self, *, first: Collection[int], limit: int) -> list[int]:
        """Communities that have not left, of whatever process: those named first, then others."""
        c = communities.c
        query = select(c.id).where(c.left_at.is_(None))
        query = query.order_by(case((c.id.in_(first), 0), else_=1), c.id).limit(limit)
        rows = await self._db.read(lambda connection: connection.execute(query).scalars().all())
        return list(rows)

    async def left(self, community_id: int) -> bool:
        """The community is served no more; False when that was known. What is kept stays."""
        c = communities.c
        statement = (
            update(communities)
            .where(c.id == community_id, c.left_at.is_(None))
            .values(left_at=self._db.now())
        )
        return await self._db.write(lambda connection: connection.execute(statement).rowcount > 0)

    async def purge(self, community_id: int) -> dict[str, int]:
        """Delete everything kept of a community at once; rows by table. Harmless twice."""
        return await self._db.write(lambda connection: purge_community(connection, community_id))

    async def rows(self, community_id: int) -> dict[str, int]:
        """How many rows each table keeps of a community: what ``purge`` would delete."""

        def fn(connection: Connection) -> dict[str, int]:
            return {
                table.name: connection.execute(
                    select(func.count()).select_from(table).where(_whose(table) == community_id)
                ).scalar_one()
                for table in metadata.sorted_tables
            }

        return await self._db.read(fn)

    async def purge_left(self, *, kept: timedelta) -> list[int]:
        """Delete everything of those who left ``kept`` ago or earlier; who they were."""
        c = communities.c
        query = select(c.id).where(c.left_at <= self._db.now() - kept).order_by(c.id)
        due = await self._db.read(lambda connection: connection.execute(query).scalars().all())
        gone: list[int] = []
        for community_id in due:
            still = query.where(c.id == community_id)
            if await self._db.write(lambda connection, still=still: _purge_if(connection, still)):
                gone.append(community_id)
        return gone


def purge_community(connection: Connection, community_id: int) -> dict[str, int]:
    """``Communities.purge``, inside a transaction."""
    changed: dict[str, int] = {}
    for table in reversed(metadata.sorted_tables):  # votes before their polls
        gone = delete(table).where(_whose(table) == community_id)
        changed[table.name] = connection.execute(gone).rowcount
    return changed


def _whose(table: Table) -> Column[int]:
    return table.c.id if table is communities else table.c.community_id


def _purge_if(connection: Connection, still_due: Select[int]) -> bool:
    # One that came back since it was looked for keeps everything.
    community_id = connection.execute(still_due.with_for_update()).scalar()
    if community_id is None:
        return False
    purge_community(connection, community_id)
    return True
