"""Running sums over results: kept in the transaction that changes a result, read in one step."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from operator import attrgetter, itemgetter

import numpy as np
from sqlalchemy import (
    ColumnElement,
    Connection,
    Row,
    Select,
    Update,
    bindparam,
    delete,
    select,
    update,
)

from storage.cells import (
    COUNTERS,
    M_PER_CM,
    Cell,
    Counts,
    LineCells,
    add_cells,
    cell_of,
    pack,
    unpack,
)
from storage.database import Database
from storage.dialect import Insert, insert, insert_for
from storage.played import Played
from storage.schema import cell_sums, line_sums
from storage.vectors import Key, Whole, add_whole, change_vectors, whole

_KEYS_AT_ONCE = 500  # SQLite before 3.32 takes 999 variables in a statement
LineKey = tuple[str, str]  # hole, line
GradeKey = tuple[str, str, str, str]  # hole, line, club, grade
_GRADE_KEY = ("community_id", "hole_key", "line_key", "club", "grade")


@dataclass(frozen=True, slots=True)
class LineTally:
    """The sums of one line: counts, and over those ``measured`` the misses in m and m2."""

    hole_key: str
    line_key: str
    variant: str
    tries: int
    holed: int
    measured: int
    sum_long_m: float
    sum_right_m: float
    sum_long2_m2: float
    sum_right2_m2: float
    sum_product_m2: float


@dataclass(frozen=True, slots=True)
class HoleTally:
    """Everything the table of a hole needs: its lines, and their sums by wind cell and grade."""

    lines: list[LineTally]
    cells: list[LineCells]


class Tallies:
    """The running sums; no question costs more with more results."""

    def __init__(self, db: Database) -> None:
        self._db = db

    async def of_hole(self, community_id: int, hole_key: str) -> HoleTally:
        """The sums of every line of a hole that has results, by line key."""
        lines = _lines_query(community_id, [hole_key])
        c = cell_sums.c
        cells = (
            select(c.line_key, c.club, c.grade, c.cells)
            .where(c.community_id == community_id, c.hole_key == hole_key)
            .order_by(c.line_key, c.club, c.grade)
        )

        def fn(connection: Connection) -> HoleTally:
            return HoleTally(
                lines=[_line(row) for row in connection.execute(lines)],
                cells=[
                    LineCells.join(line_key, [(row.club, row.grade, row.cells) for row in rows])
                    for line_key, rows in groupby(
                        connection.execute(cells), key=attrgetter("line_key")
                    )
                ],
            )

        return await self._db.read(fn)

    async def of_holes(self, community_id: int, hole_keys: Sequence[str]) -> list[LineTally]:
        """The sums of every line of several holes, by hole and line key."""
        chunks = [
            _lines_query(community_id, hole_keys[at : at + _KEYS_AT_ONCE])
            for at in range(0, len(hole_keys), _KEYS_AT_ONCE)
        ]
        rows = await self._db.read(
            lambda connection: [row for query in chunks for row in connection.execute(query)]
        )
        return sorted((_line(row) for row in rows), key=lambda line: (line.hole_key, line.line_key))


class Change:
    """What results that come (+1) and go (-1) do to the sums of one community."""

    def __init__(self, community_id: int) -> None:
        self._community_id = community_id
        self._lines: dict[LineKey, tuple[str, Counts]] = {}
        self._cells: dict[GradeKey, dict[Cell, Counts]] = {}
        self._vectors: dict[Key, tuple[int, Whole]] = {}

    def add(self, played: Iterable[Played], *, sign: int) -> None:
        """Note results that come or go."""
        for one in played:
            self._note(one, sign)

    def apply(self, connection: Connection) -> None:
        """Bring the sums up to date, inside the transaction that keeps the results."""
        # In order, so that two transactions on a server never wait for one another in a ring.
        for key, (variant, counters) in sorted(self._lines.items(), key=itemgetter(0)):
            _change_line(connection, self._community_id, key, variant, counters)
        for key, cells in sorted(self._cells.items(), key=itemgetter(0)):
            _change_cells(connection, self._community_id, key, cells)
        change_vectors(connection, self._vectors)

    def _note(self, played: Played, sign: int) -> None:
        counters = sign * _counters(played)
        line = (played.hole_key, played.line_key)
        _, before = self._lines.get(line, ("", 0))
        self._lines[line] = (played.variant, before + counters)
        if played.wind_mmps is not None:
            cells = self._cells.setdefault((*line, played.club, played.grade), {})
            cell = cell_of(played.wind_mmps)
            cells[cell] = cells.get(cell, 0) + counters
        for part in played.parts:
            key = (self._community_id, part.scope, part.key)
            change = whole(part.vector, sign=sign)
            count, total = self._vectors.get(key, (0, [0] * len(change)))
            self._vectors[key] = (count + sign, add_whole(total, change))


def _counters(played: Played) -> Counts:
    missed_by = played.missed_by_cm
    long, right = missed_by or (0, 0)
    known = missed_by is not None
    squares = (long * long, right * right, long * right)
    counts = (played.tries, played.went_in, known)
    return np.array([*counts, long, right, *squares], dtype=np.int64)


def _change_line(
    connection: Connection, community_id: int, key: LineKey, variant: str, counters: Counts
) -> None:
    change = dict(zip(COUNTERS, counters.tolist(), strict=True))
    keys = {"community_id": community_id, "hole_key": key[0], "line_key": key[1]}
    connection.execute(
        _add_to_line(connection.dialect.name), {**keys, "variant": variant, **change}
    )
    if change["tries"] < 0:
        c = line_sums.c
        here = (c.community_id == community_id, c.hole_key == key[0], c.line_key == key[1])
        connection.execute(delete(line_sums).where(*here, c.tries == 0))


def _change_cells(
    connection: Connection, community_id: int, key: GradeKey, changes: dict[Cell, Counts]
) -> None:
    values = (community_id, *key)
    here = {f"at_{name}": value for name, value in zip(_GRADE_KEY, values, strict=True)}
    packed = connection.execute(_cells_at(), here).scalar()
    if packed is None:
        first = dict(zip(_GRADE_KEY, values, strict=True))
        statement = insert(connection, cell_sums).values(cells=b"", **first)
        connection.execute(statement.on_conflict_do_nothing())
        packed = connection.execute(_cells_at(), here).scalar_one()
    rows = add_cells(unpack(packed), changes)
    if len(rows) == 0:
        connection.execute(delete(cell_sums).where(*_at_grade()), here)
    else:
        connection.execute(_set_cells(), {**here, "packed": pack(rows)})


# Statements that run for every result are built once: building one costs more than running it.


@cache
def _add_to_line(dialect: str) -> Insert:
    statement = insert_for(dialect, line_sums)
    sums = {name: line_sums.c[name] + statement.excluded[name] for name in COUNTERS}
    return statement.on_conflict_do_update(
        index_elements=list(line_sums.primary_key),
        set_={"variant": statement.excluded.variant, **sums},
    )


@cache
def _cells_at() -> Select[bytes]:
    return select(cell_sums.c.cells).where(*_at_grade()).with_for_update()


@cache
def _set_cells() -> Update:
    return update(cell_sums).where(*_at_grade()).values(cells=bindparam("packed"))


def _at_grade() -> list[ColumnElement[bool]]:
    return [cell_sums.c[name] == bindparam(f"at_{name}") for name in _GRADE_KEY]


def _lines_query(community_id: int, hole_keys: Sequence[str]):
    c = line_sums.c
    return (
        select(line_sums)
        .where(c.community_id == community_id, c.hole_key.in_(hole_keys))
        .order_by(c.hole_key, c.line_key)
    )


def _line(row: Row[*tuple[object, ...]]) -> LineTally:
    return LineTally(
        hole_key=row.hole_key,
        line_key=row.line_key,
        variant=row.variant,
        tries=row.tries,
        holed=row.holed,
        measured=row.measured,
        sum_long_m=row.sum_long * M_PER_CM,
        sum_right_m=row.sum_right * M_PER_CM,
        sum_long2_m2=row.sum_long2 * M_PER_CM**2,
        sum_right2_m2=row.sum_right2 * M_PER_CM**2,
        sum_product_m2=row.sum_product * M_PER_CM**2,
    )
