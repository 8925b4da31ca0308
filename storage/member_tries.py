"""What each member tried and holed on each line, counted from the results that stand.

Members are told apart by a number only; whoever was forgotten counts as one member together.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Integer, Row, Select, cast, func, select

from storage.cells import Counts, Floats
from storage.database import Database
from storage.schema import line_sums, results

_KEYS_AT_ONCE = 500  # SQLite before 3.32 takes 999 variables in a statement
_MPS_PER_MMPS = 0.001


@dataclass(frozen=True, slots=True)
class LineMembers:
    """One line's tries and holed by member, wind and grade; every column has shape (cells,), SI.

    ``member`` counts the line's members from 0. Winds are in the axes of the line of play, NaN
    where not known. ``names`` has the (club, grade) of each cell.
    """

    hole_key: str
    line_key: str
    variant: str
    member: NDArray[np.intp]
    along_mps: Floats
    right_mps: Floats
    names: tuple[tuple[str, str], ...]
    tries: Counts
    holed: Counts

    def same_grade(self, club: str, grade: str) -> NDArray[np.bool_]:
        """Where the grade is this one."""
        return np.array([name == (club, grade) for name in self.names], dtype=np.bool_)

    def by_member(self) -> tuple[Counts, Counts]:
        """Holed and tries of each member in all winds; shapes (members,)."""
        members = int(self.member.max()) + 1
        holed, tries = np.zeros(members, np.int64), np.zeros(members, np.int64)
        np.add.at(holed, self.member, self.holed)
        np.add.at(tries, self.member, self.tries)
        return holed, tries


async def member_tries(
    db: Database,
    community_id: int,
    hole_keys: Sequence[str],
    played_as: Mapping[str, str] | None = None,
) -> list[LineMembers]:
    """Every line of these holes that has results, by hole and line key.

    The results of a hole in ``played_as`` count for the lines of the hole it names.

    The running sums name the lines, and the results' index by line finds theirs: the cost grows
    with the results of these holes, not with all there are.
    """
    chunks = [
        _query(community_id, hole_keys[at : at + _KEYS_AT_ONCE])
        for at in range(0, len(hole_keys), _KEYS_AT_ONCE)
    ]
    rows = await db.read(
        lambda connection: [row for query in chunks for row in connection.execute(query)]
    )
    now = played_as or {}

    def place(row: Row[*tuple[Any, ...]]) -> tuple[str, str]:
        was: str = row.hole_key
        hole = now.get(was, was)
        return hole, f"{hole}{row.line_key.removeprefix(was)}"

    rows.sort(key=place)
    lines = groupby(rows, key=place)
    return [_line(*key, list(cells)) for key, cells in lines]


def _query(community_id: int, hole_keys: Sequence[str]) -> Select[*tuple[Any, ...]]:
    c, sums = results.c, line_sums.c
    # A join would let SQLite go through all results of the community and look each line up.
    lines = select(sums.line_key).where(
        sums.community_id == community_id, sums.hole_key.in_(hole_keys)
    )
    cell = (c.member_id, c.wind_along_mmps, c.wind_right_mmps, c.club, c.grade)
    key = (c.hole_key, c.line_key, c.variant)
    return (
        select(
            *key,
            *cell,
            func.sum(func.coalesce(c.tries, 1)).label("tries"),
            func.sum(func.coalesce(c.went_in, cast(c.holed, Integer))).label("holed"),
        )
        .where(
            c.community_id == community_id,
            c.line_key.in_(lines),
            c.hole_key.in_(hole_keys),
            c.removed_at.is_(None),
        )
        .group_by(*key, *cell)
        .order_by(*key, *cell)
    )


def _line(hole_key: str, line_key: str, rows: Sequence[Row[*tuple[object, ...]]]) -> LineMembers:
    numbers: dict[int | None, int] = {}
    member = [numbers.setdefault(row.member_id, len(numbers)) for row in rows]
    return LineMembers(
        hole_key=hole_key,
        line_key=line_key,
        variant=rows[0].variant,
        member=np.array(member, np.intp),
        along_mps=_speeds([row.wind_along_mmps for row in rows]),
        right_mps=_speeds([row.wind_right_mmps for row in rows]),
        names=tuple((row.club, row.grade) for row in rows),
        tries=np.array([row.tries for row in rows], np.int64),
        holed=np.array([row.holed for row in rows], np.int64),
    )


def _speeds(mmps: Sequence[int | None]) -> Floats:
    speeds = [np.nan if each is None else each * _MPS_PER_MMPS for each in mmps]
    return np.array(speeds, np.float64)
