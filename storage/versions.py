"""How often something changed, so that what a process holds in memory can be told from what is.

A version moves in the transaction that changes the thing. Whoever keeps an answer in memory keeps
the version it was made from, and asks for the newest before using it: one small read.
"""

import asyncio
from collections.abc import Collection
from functools import cache
from typing import Literal

from sqlalchemy import Connection, select

from storage.database import Database
from storage.dialect import Insert, insert_for
from storage.schema import versions

Kind = Literal["belief", "kit", "book", "bags", "settings"]
"""What is learned and decided about clubs; the kit; events, holes and lines; bags; settings."""


class Versions:
    """The versions of every community, read once for all who ask at the same time."""

    def __init__(self, db: Database) -> None:
        self._db = db
        self._one = asyncio.Lock()
        self._wanted: set[int] = set()
        self._next: asyncio.Task[dict[int, dict[str, int]]] | None = None

    async def of(self, community_id: int) -> dict[str, int]:
        """The version of each kind; one that never changed is not there.

        Who asks while a read is under way shares the next, which begins after they asked: what it
        finds is never older than the question.
        """
        self._wanted.add(community_id)
        if self._next is None:
            self._next = asyncio.create_task(self._read())
        # Shielded: one who goes away takes the answer from nobody else.
        return (await asyncio.shield(self._next)).get(community_id, {})

    async def _read(self) -> dict[int, dict[str, int]]:
        async with self._one:
            wanted, self._wanted, self._next = self._wanted, set(), None
            return await self._db.read(lambda connection: versions_of(connection, wanted))


def versions_of(connection: Connection, communities: Collection[int]) -> dict[int, dict[str, int]]:
    """The versions of each community that has any, inside a transaction."""
    query = select(versions).where(versions.c.community_id.in_(sorted(communities)))
    found: dict[int, dict[str, int]] = {}
    for row in connection.execute(query):
        found.setdefault(row.community_id, {})[row.kind] = row.number
    return found


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
