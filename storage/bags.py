"""Bags by community and member."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection, delete, select

from shared.bag import Bag
from storage.database import Database
from storage.dialect import insert
from storage.schema import bags
from storage.versions import bump


class Bags:
    """Every member's bag; what a member never set is an empty bag."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, member_id: int) -> Bag | None:
        """The member's bag, or None when none was ever put."""
        return await self._db.read(lambda connection: get_bag(connection, community_id, member_id))

    async def put(self, community_id: int, member_id: int, bag: Bag) -> None:
        """Keep this bag in place of whatever was there."""
        now = self._db.now()
        await self._db.write(
            lambda connection: put_bag(connection, community_id, member_id, bag, at=now)
        )

    async def change(self, community_id: int, member_id: int, change: Callable[[Bag], Bag]) -> Bag:
        """Read, change and keep in one step, so that two changes at once lose nothing.

        ``change`` gets an empty bag when there was none; what it raises leaves the bag as it was.
        """
        now = self._db.now()

        def fn(connection: Connection) -> Bag:
            before = get_bag(connection, community_id, member_id) or Bag()
            after = change(before)
            put_bag(connection, community_id, member_id, after, at=now)
            return after

        return await self._db.write(fn)

    async def forget(self, community_id: int, member_id: int) -> bool:
        """Delete the member's bag; says whether there was one."""
        return await self._db.write(
            lambda connection: forget_bag(connection, community_id, member_id)
        )


def get_bag(connection: Connection, community_id: int, member_id: int) -> Bag | None:
    """The bag, inside a transaction."""
    query = select(bags).where(bags.c.community_id == community_id, bags.c.member_id == member_id)
    row = connection.execute(query).one_or_none()
    return (
        None
        if row is None
        else Bag(grades=row.grades, ball=row.ball, units=row.units, private=row.private)
    )


def bags_of(connection: Connection, community_id: int) -> list[Bag]:
    """Every bag of a community, inside a transaction."""
    rows = connection.execute(select(bags).where(bags.c.community_id == community_id))
    return [
        Bag(grades=row.grades, ball=row.ball, units=row.units, private=row.private) for row in rows
    ]


def put_bag(
    connection: Connection, community_id: int, member_id: int, bag: Bag, *, at: datetime
) -> None:
    """Keep the bag, inside a transaction."""
    bump(connection, community_id, "bags")
    values = {
        "grades": bag.grades,
        "ball": bag.ball,
        "units": bag.units,
        "private": bag.private,
        "updated_at": at,
    }
    statement = insert(connection, bags).values(
        community_id=community_id, member_id=member_id, **values
    )
    connection.execute(
        statement.on_conflict_do_update(index_elements=list(bags.primary_key), set_=values)
    )


def forget_bag(connection: Connection, community_id: int, member_id: int) -> bool:
    """Delete the bag, inside a transaction; says whether there was one."""
    bump(connection, community_id, "bags")
    statement = delete(bags).where(
        bags.c.community_id == community_id, bags.c.member_id == member_id
    )
    return connection.execute(statement).rowcount > 0
