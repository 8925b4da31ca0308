"""Bags by community and member."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import Connection, Row, delete, select

from shared.bag import Bag
from storage.database import Database
from storage.dialect import insert
from storage.pages import in_pages
from storage.schema import bags


class Bags:
    """Every member's bag; what a member never set is an empty bag."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, member_id: int) -> Bag | None:
        """The member's bag, or None when none was ever put."""
        return await self._db.read(lambda connection: get_bag(connection, community_id, member_id))

    async def all_in(self, community_id: int) -> dict[int, Bag]:
        """Every bag of a community by member id."""
        query = select(bags).where(bags.c.community_id == community_id).order_by(bags.c.member_id)
        return await self._db.read(
            lambda connection: {row.member_id: _bag(row) for row in in_pages(connection, query)}
        )

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
            before = get_bag(connection, community_id, member_id, for_update=True)
            if before is None:
                # Holds the row's place, so that on a server nobody else can be first.
                before = Bag()
                _hold_place(connection, community_id, member_id, at=now)
                before = get_bag(connection, community_id, member_id, for_update=True) or before
            after = change(before)
            put_bag(connection, community_id, member_id, after, at=now)
            return after

        return await self._db.write(fn)

    async def set_grade(
        self, community_id: int, member_id: int, club: str, grade: str | None
    ) -> Bag:
        """Set one club's grade (None: the kit's default again); the whole bag comes back."""

        def with_grade(bag: Bag) -> Bag:
            grades = {name: owned for name, owned in bag.grades.items() if name != club}
            if grade is not None:
                grades[club] = grade
            return Bag(grades=grades, ball=bag.ball, units=bag.units)

        return await self.change(community_id, member_id, with_grade)

    async def forget(self, community_id: int, member_id: int) -> bool:
        """Delete the member's bag; says whether there was one."""
        return await self._db.write(
            lambda connection: forget_bag(connection, community_id, member_id)
        )


def get_bag(
    connection: Connection, community_id: int, member_id: int, *, for_update: bool = False
) -> Bag | None:
    """The bag, inside a transaction."""
    query = select(bags).where(bags.c.community_id == community_id, bags.c.member_id == member_id)
    row = connection.execute(query.with_for_update() if for_update else query).one_or_none()
    return None if row is None else _bag(row)


def put_bag(
    connection: Connection, community_id: int, member_id: int, bag: Bag, *, at: datetime
) -> None:
    """Keep the bag, inside a transaction."""
    values = {"grades": bag.grades, "ball": bag.ball, "units": bag.units, "updated_at": at}
    statement = insert(connection, bags).values(
        community_id=community_id, member_id=member_id, **values
    )
    connection.execute(
        statement.on_conflict_do_update(index_elements=list(bags.primary_key), set_=values)
    )


def forget_bag(connection: Connection, community_id: int, member_id: int) -> bool:
    """Delete the bag, inside a transaction; says whether there was one."""
    statement = delete(bags).where(
        bags.c.community_id == community_id, bags.c.member_id == member_id
    )
    return connection.execute(statement).rowcount > 0


def _hold_place(connection: Connection, community_id: int, member_id: int, *, at: datetime) -> None:
    empty = Bag()
    statement = insert(connection, bags).values(
        community_id=community_id,
        member_id=member_id,
        grades=empty.grades,
        ball=empty.ball,
        units=empty.units,
        updated_at=at,
    )
    connection.execute(statement.on_conflict_do_nothing())


def _bag(row: Row[*tuple[object, ...]]) -> Bag:
    return Bag(grades=row.grades, ball=row.ball, units=row.units)
