"""Tries by member: the results that stand, of these holes and this community only."""

import dataclasses
import sqlite3
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy.dialects import sqlite

from storage import member_tries as module
from storage.database import Database
from storage.member_tries import LineMembers, member_tries
from storage.people import People
from storage.played import Played
from storage.results import Results

HERE, ELSEWHERE = 2**60 + 1, 2**60 + 2
ANN, BEN, CAT = 2**61 + 5, 2**61 + 2, 2**61 + 9
H7, H8 = "cup/r1/h7", "cup/r1/h8"


def shot(
    variant: str, holed: bool, *, hole: str = H7, wind: tuple[int, int] | None = (-3500, 1500)
) -> Played:
    return Played(
        hole_key=hole,
        line_key=f"{hole}/{variant}",
        variant=variant,
        holed=holed,
        wind_mmps=wind,
        club="7-iron",
        grade="forged" if variant == "A" else "plain",
    )


async def log(db: Database, *entries: tuple[int, Played], community: int = HERE, first: int = 1):
    results = Results(db)
    ids = []
    for number, (member, played) in enumerate(entries, start=first):
        logged = await results.add(
            community, played, member_id=member, author_name="x", interaction_id=number
        )
        ids.append(logged.result.id)
    return ids


async def fill(db: Database) -> None:
    ids = await log(
        db,
        (BEN, shot("A", True)),
        (ANN, shot("A", False)),
        (BEN, shot("A", False)),
        (BEN, shot("A", True, wind=None)),
        (ANN, dataclasses.replace(shot("A", True), grade="cast")),
        (CAT, shot("B", True)),
        (ANN, shot("C", True)),
        (ANN, shot("A", True, hole=H8)),
    )
    await Results(db).remove(ids[6])
    await Results(db).correct(ids[1], shot("A", True), interaction_id=50)
    await log(db, (ANN, shot("A", True)), community=ELSEWHERE, first=90)


def cells(line: LineMembers) -> set[tuple]:
    """Everything but which number a member has."""
    winds = np.nan_to_num(np.stack([line.along_mps, line.right_mps]), nan=99.0)
    columns = (*winds.tolist(), line.names, line.tries.tolist(), line.holed.tolist())
    return set(zip(*columns, strict=True))


async def test_what_stands_is_counted_by_member_wind_and_grade(db: Database) -> None:
    await fill(db)
    one, two = await member_tries(db, HERE, [H7])
    assert (one.hole_key, one.line_key, one.variant) == (H7, f"{H7}/A", "A")
    forged, cast = ("7-iron", "forged"), ("7-iron", "cast")
    assert cells(one) == {
        (-3.5, 1.5, forged, 2, 1),
        (-3.5, 1.5, forged, 1, 1),
        (99.0, 99.0, forged, 1, 1),
        (-3.5, 1.5, cast, 1, 1),
    }
    holed, tries = one.by_member()
    assert sorted(zip(holed.tolist(), tries.tolist(), strict=True)) == [(2, 2), (2, 3)]
    assert one.same_grade("7-iron", "cast").tolist() == [name == cast for name in one.names]
    assert (two.variant, two.tries.tolist(), two.holed.tolist()) == ("B", [1], [1])
    assert two.member.tolist() == [0]


async def test_lines_come_in_order_over_all_holes(db: Database, monkeypatch) -> None:
    await fill(db)
    found = await member_tries(db, HERE, [H8, H7, "cup/r1/h9"])
    assert [line.line_key for line in found] == [f"{H7}/A", f"{H7}/B", f"{H8}/A"]
    monkeypatch.setattr(module, "_KEYS_AT_ONCE", 1)
    again = await member_tries(db, HERE, [H8, H7, "cup/r1/h9"])
    assert [cells(line) for line in again] == [cells(line) for line in found]
    assert await member_tries(db, HERE, []) == []
    assert await member_tries(db, ELSEWHERE, [H8]) == []


async def test_the_forgotten_count_as_one_member(db: Database) -> None:
    await fill(db)
    for member in (ANN, BEN):
        await People(db).forget(HERE, member)
    (line, _) = await member_tries(db, HERE, [H7])
    assert [part.tolist() for part in line.by_member()] == [[4], [5]]


async def test_it_reads_by_indexes(db: Database, database_file: Path) -> None:
    await fill(db)
    query = module._query(HERE, [H7, H8])
    text = str(query.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True}))
    with sqlite3.connect(database_file) as raw:
        steps = [row[3] for row in raw.execute(f"EXPLAIN QUERY PLAN {text}")]
    reads = [step for step in steps if step.startswith(("SEARCH", "SCAN"))]
    assert [step.split()[0] for step in reads] == ["SEARCH", "SEARCH"], steps
    assert any("results" in step and "line_key=?" in step for step in reads), steps


def test_a_wind_that_is_not_known_is_no_number() -> None:
    speeds = module._speeds([None, -2500, 0])
    assert np.isnan(speeds[0])
    assert speeds[1:].tolist() == pytest.approx([-2.5, 0])
