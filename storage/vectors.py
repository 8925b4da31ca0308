"""Running sums of vectors of numbers whose meaning is the caller's.

They are summed as whole numbers of 2**-30, so that a sum does not depend on the order, and what
is taken out leaves no trace. Numbers on a binary grid that fine are kept exactly.
"""

import json
from collections.abc import Mapping, Sequence
from functools import cache

from sqlalchemy import ColumnElement, Connection, Select, Update, bindparam, delete, select, update

from storage.database import Database
from storage.dialect import insert
from storage.schema import vector_sums

GRID_BITS = 30
Whole = list[int]
Key = tuple[int, str, str]  # community, scope, key


class VectorSums:
    """The sums by scope and key; they change with results only."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def get(self, community_id: int, scope: str, key: str) -> tuple[float, ...] | None:
        """The sum under one key, or None when nothing was added."""
        c = vector_sums.c
        query = select(c.total).where(
            c.community_id == community_id, c.scope == scope, c.key == key
        )
        total = await self._db.read(lambda connection: connection.execute(query).scalar())
        return None if total is None else _floats(total)

    async def all(self, community_id: int, scope: str) -> dict[str, tuple[float, ...]]:
        """Every sum of a scope by key."""
        query = select(vector_sums.c.key, vector_sums.c.total).where(
            vector_sums.c.community_id == community_id, vector_sums.c.scope == scope
        )
        rows = await self._db.read(lambda connection: connection.execute(query).all())
        return {row.key: _floats(row.total) for row in rows}


def whole(vector: Sequence[float], *, sign: int = 1) -> Whole:
    """A vector as whole numbers of the grid, or its negative."""
    return [sign * round(value * (1 << GRID_BITS)) for value in vector]


def add_whole(total: Whole, more: Whole) -> Whole:
    """The sum. Raises ValueError when the lengths differ."""
    return [a + b for a, b in zip(total, more, strict=True)]


def change_vectors(connection: Connection, changes: Mapping[Key, tuple[int, Whole]]) -> None:
    """Add to each sum a vector and how many results it stands for, inside a transaction.

    A sum of no results is deleted. Raises ValueError when a vector has another length than the
    sum it goes to.
    """
    for key, (count, change) in sorted(changes.items()):
        community_id, scope, name = key
        here: dict[str, object] = {
            "at_community": community_id,
            "at_scope": scope,
            "at_key": name,
        }
        row = connection.execute(_sum_at(), here).one_or_none()
        if row is None:
            statement = insert(connection, vector_sums).values(
                community_id=community_id, scope=scope, key=name, entries=0, total="[]"
            )
            connection.execute(statement.on_conflict_do_nothing())
            row = connection.execute(_sum_at(), here).one()
        total: Whole = json.loads(row.total) if row.entries else [0] * len(change)
        after = add_whole(total, change)
        if row.entries + count == 0:
            connection.execute(delete(vector_sums).where(*_at()), here)
            continue
        text = json.dumps(after, separators=(",", ":"))
        connection.execute(_set_sum(), {**here, "count": row.entries + count, "text": text})


# Statements that run for every result are built once: building one costs more than running it.


@cache
def _sum_at() -> Select[int, str]:
    query = select(vector_sums.c.entries, vector_sums.c.total)
    return query.where(*_at()).with_for_update()


@cache
def _set_sum() -> Update:
    statement = update(vector_sums).where(*_at())
    return statement.values(entries=bindparam("count"), total=bindparam("text"))


def _at() -> list[ColumnElement[bool]]:
    c = vector_sums.c
    return [
        c.community_id == bindparam("at_community"),
        c.scope == bindparam("at_scope"),
        c.key == bindparam("at_key"),
    ]


def _floats(total: str) -> tuple[float, ...]:
    return tuple(value / (1 << GRID_BITS) for value in json.loads(total))
