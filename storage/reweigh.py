"""Changing what kept results add to the sums of vectors: after a full pass, or by a coach's word.

The results themselves stay as they were logged; only their weight and their parts change, in one
transaction with the sums.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, bindparam, select, update

from storage.database import Database
from storage.played import Part
from storage.schema import results
from storage.vectors import Key, Whole, add_whole, change_vectors, whole
from storage.versions import bump


@dataclass(frozen=True, slots=True)
class Reweighed:
    """What one result is to add from now on.

    ``left_out`` is a coach's reason, "" to take it in again. None is for a pass over all results:
    it leaves a coach's word as it is and passes over what was left out meanwhile.
    """

    result_id: int
    weight: float
    parts: tuple[Part, ...]
    left_out: str | None = None


async def reweigh(db: Database, community_id: int, changes: Sequence[Reweighed]) -> int:
    """Put new weights and parts in place; a result removed or left out meanwhile is passed over.

    Says how many were changed. Raises ValueError when a vector's length differs from its sum's.
    """
    return await db.write(lambda connection: reweigh_results(connection, community_id, changes))


def reweigh_results(connection: Connection, community_id: int, changes: Sequence[Reweighed]) -> int:
    """``reweigh``, inside a transaction."""
    c = results.c
    wanted = {change.result_id: change for change in changes}
    query = select(c.id, c.parts, c.left_out).where(
        c.id.in_(list(wanted)), c.community_id == community_id, c.removed_at.is_(None)
    )
    rows = [
        row
        for row in connection.execute(query.with_for_update())
        if not (row.left_out and wanted[row.id].left_out is None)
    ]
    sums: dict[Key, tuple[int, Whole]] = {}
    for row in rows:
        for scope, key, vector in row.parts:
            _count(sums, (community_id, scope, key), -1, whole(vector, sign=-1))
        for part in wanted[row.id].parts:
            _count(sums, (community_id, part.scope, part.key), 1, whole(part.vector))
    change_vectors(connection, sums)
    statement = update(results).where(c.id == bindparam("at_id"))
    values = [_values(wanted[row.id]) for row in rows]
    if values:
        connection.execute(
            statement.values(
                weight=bindparam("new_weight"),
                parts=bindparam("new_parts"),
                left_out=bindparam("new_left_out"),
            ),
            values,
        )
        bump(connection, community_id, "belief")
    return len(rows)


def standing_ids(connection: Connection, community_id: int, club: str) -> set[int]:
    """The results of a club that stand, inside the transaction that changes all of them."""
    c = results.c
    query = select(c.id).where(
        c.community_id == community_id, c.club == club, c.removed_at.is_(None)
    )
    return set(connection.execute(query.with_for_update()).scalars())


def _values(change: Reweighed) -> dict[str, object]:
    return {
        "at_id": change.result_id,
        "new_weight": change.weight,
        "new_parts": [[part.scope, part.key, list(part.vector)] for part in change.parts],
        "new_left_out": change.left_out or None,
    }


def _count(sums: dict[Key, tuple[int, Whole]], key: Key, count: int, vector: Whole) -> None:
    entries, total = sums.get(key, (0, [0] * len(vector)))
    sums[key] = (entries + count, add_whole(total, vector))
