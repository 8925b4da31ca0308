"""How often something changed, so that what a process holds in memory can be told from what is.

A version moves in the transaction that changes the thing. Whoever keeps an answer in memory keeps
the version it was made from, and asks for the newest before using it: one small read.
"""

from functools import cache
from typing import Literal

from sqlalchemy import Connection, select

from storage.database import Database
from storage.dialect import Insert, insert_for
from storage.schema import versions

Kind = Literal["belief", "kit", "book", "bags", "settings"]
"""What is learned (of chances too) and decided about clubs; the kit; events, holes and lines; bags;
settings."""


class Versions:
    """The versions of every community."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def of(self, community_id: int) -> dict[str, int]:
        """The version of each kind; one that never changed is not there."""
        return await self._db.read(lambda connection: versions_of(connection, community_id))


def versions_of(connection: Connection, community_id: int) -> dict[str, int]:
    """``Versions.of``, inside a transaction."""
    query = select(versions.c.kind, versions.c.number)
    rows = connection.execute(query.where(versions.c.community_id == community_id))
    return {row.kind: row.number for row in rows}


def bump(connection: Connection, community_id: int, kind: Kind) -> None:
    """Say that something has changed, inside the transaction that changes it."""
    connection.execute(
        _add_one(connection.dialect.name), {"community_id": community_id, "kind": kind, "number": 1}
    )


@cache
def _add_one(dialect: str) -> Insert:
    statement = insert_for(dialect, versions)
    return statement.on_conflict_do_update(
        index_elements=list(versions.primary_key), set_={"number": versions.c.number + 1}
    )
