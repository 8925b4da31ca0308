"""Whatever is logged, corrected and removed, and by however many at once: the running sums are
those of the results that stand, recomputed from scratch here with plain Python and SQL."""

import asyncio
import json
import math
import shutil
import sqlite3
import struct
import tempfile
from collections import Counter, defaultdict
from fractions import Fraction
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from storage.database import Database
from storage.played import Part, Played
from storage.results import Results

HERE = 2**60 + 9
COUNTERS = "tries, holed, measured, sum_long, sum_right, sum_long2, sum_right2, sum_product"

cm = st.integers(-4000, 4000)
mmps = st.integers(-9000, 9000)
# On the grid of 1/128 the learning uses, and off it.
numbers = st.one_of(
    st.integers(-500, 500).map(lambda n: n / 128), st.floats(-1e6, 1e6, allow_nan=False)
)


@st.composite
def played(draw: st.DrawFn) -> Played:
    hole, variant = draw(st.sampled_from([("h1", "A"), ("h1", "B"), ("h2", "A")]))
    vector = draw(st.tuples(numbers, numbers, numbers))
    parts = (Part("gain", draw(st.sampled_from("xy")), vector),)
    return Played(
        hole_key=hole,
        line_key=f"{hole}/{variant}",
        variant=variant,
        holed=draw(st.booleans()),
        miss_cm=draw(st.none() | st.tuples(cm, cm)),
        ended_cm=draw(st.none() | st.tuples(cm, cm)),
        onto=draw(st.sampled_from(["", "green"])),
        wind_mmps=draw(st.none() | st.tuples(mmps, mmps)),
        club="7-iron",
        grade=draw(st.sampled_from(["plain", "forged"])),
        parts=draw(st.sampled_from([(), parts])),
    )


# (what, which earlier result it is about, the new content, interaction)
operation = st.tuples(
    st.sampled_from(["add", "add", "correct", "remove"]),
    st.integers(1, 6),
    played(),
    st.integers(1, 25),
)


async def perform(results: Results, member_id: int, operations: list) -> None:
    for what, number, content, interaction in operations:
        if what == "add":
            await results.add(
                HERE, content, member_id=member_id, author_name="x", interaction_id=interaction
            )
        elif what == "remove":
            await results.remove(number)
        else:
            standing = await results.standing(number)
            if standing is not None:
                kept = {"hole_key": standing.played.hole_key, "line_key": standing.played.line_key}
                content = Played(**{**as_dict(content), **kept})
                await results.correct(number, content, interaction_id=interaction)


def as_dict(content: Played) -> dict:
    return {name: getattr(content, name) for name in Played.__dataclass_fields__}


def missed_by(
    holed: int, long: int | None, aside: int | None, end: int | None, wide: int | None, onto: str
) -> tuple[bool, int, int]:
    """Whether it is known how far a ball was from the hole in the end, and how far."""
    if end is not None:
        return True, end, wide or 0
    if onto:
        return bool(holed), 0, 0
    return long is not None, 0 if holed else long or 0, 0 if holed else aside or 0


def from_scratch(raw: sqlite3.Connection):
    """The sums of the rows that stand, by nothing but the definition."""
    lines: dict = defaultdict(lambda: [0] * 8)
    cells: dict = defaultdict(lambda: [0] * 8)
    vectors: dict = {}
    rows = raw.execute(
        "SELECT hole_key, line_key, club, grade, wind_along_mmps, wind_right_mmps, holed,"
        " miss_long_cm, miss_right_cm, ended_long_cm, ended_right_cm, onto, parts"
        " FROM results WHERE removed_at IS NULL"
    )
    for hole, line, club, grade, along, right, holed, *places, parts in rows:
        known, long, aside = missed_by(holed, *places)
        new = [1, holed, known, long, aside, long**2, aside**2, long * aside]
        sums = [lines[hole, line]]
        if along is not None:
            cell = tuple(math.floor(speed / 894.08 + 0.5) for speed in (along, right))
            sums.append(cells[(hole, line, club, grade, *cell)])
        for total in sums:
            total[:] = [a + b for a, b in zip(total, new, strict=True)]
        for scope, key, vector in json.loads(parts):
            before = vectors.get((scope, key), [Fraction(0)] * len(vector))
            grid = [Fraction(round(Fraction(value) * 2**30), 2**30) for value in vector]
            vectors[scope, key] = [a + b for a, b in zip(before, grid, strict=True)]
    return dict(lines), dict(cells), vectors


def as_kept(raw: sqlite3.Connection):
    lines = {
        (hole, line): list(counters)
        for hole, line, *counters in raw.execute(
            f"SELECT hole_key, line_key, {COUNTERS} FROM line_sums"
        )
    }
    cells = {}
    for hole, line, club, grade, packed in raw.execute(
        "SELECT hole_key, line_key, club, grade, cells FROM cell_sums"
    ):
        for along, right, *counters in struct.iter_unpack("<10q", packed):
            assert (hole, line, club, grade, along, right) not in cells
            cells[hole, line, club, grade, along, right] = counters
    vectors = {
        (scope, key): [Fraction(n, 2**30) for n in json.loads(total)]
        for scope, key, total in raw.execute("SELECT scope, key, total FROM vector_sums")
    }
    return lines, cells, vectors


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(operation, max_size=8), min_size=3, max_size=3))
def test_sums_equal_those_from_scratch_with_concurrent_writers(empty_database, plans) -> None:
    with tempfile.TemporaryDirectory() as directory:
        path = Path(directory) / "leeward.db"
        shutil.copy(empty_database, path)

        async def run() -> None:
            doors = [await Database.open(f"sqlite:///{path}") for _ in range(2)]
            writers = [Results(doors[0]), Results(doors[1]), Results(doors[0])]
            await asyncio.gather(
                *(perform(writers[i], 500 + i, plan) for i, plan in enumerate(plans))
            )
            for door in doors:
                await door.close()

        asyncio.run(run())
        with sqlite3.connect(path) as raw:
            assert as_kept(raw) == from_scratch(raw)
            interactions = Counter(r[0] for r in raw.execute("SELECT interaction_id FROM results"))
            assert not interactions or max(interactions.values()) == 1
            standing = raw.execute(
                "SELECT count(*), count(DISTINCT coalesce(origin_id, id)) FROM results"
                " WHERE removed_at IS NULL"
            ).fetchone()
            assert standing[0] == standing[1]  # never two editions of one result
