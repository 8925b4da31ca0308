"""What the running sums cost and what they save: ``python tests/bench/results.py [--most N]``.

1. The time of the query behind the table of a hole with 10, 10,000 and 1,000,000 results of three
   variants and three grades, in winds spread over a disc of 20 mph, so that in the end every wind
   cell is filled: the worst case; the three in turns. To see what is saved, the same sums by a
   scan of the results.
2. How many results a second are kept one at a time (row, line's sums, cell's sums, a learning
   vector of fourteen numbers, commit), and the ratio to a bare aiosqlite insert and commit of the
   same row into the same table with the same pragmas, in turns.
"""

import argparse
import asyncio
import json
import math
import random
import statistics
import sys
import tempfile
import time
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from pathlib import Path

import aiosqlite
from sqlalchemy import Connection, func, insert, select

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from storage.database import Database
from storage.engines import WRITER_PRAGMAS
from storage.played import Part, Played
from storage.result_rows import to_row
from storage.results import Results
from storage.schema import results
from storage.tallies import Change, Tallies

HERE, HOLE = 2**60, "cup-3/r1/h7"
MPH_MMPS = 447.04
SIZES = (10, 10_000, 1_000_000)
BATCH = 20_000
REPEATS = 200
ROUNDS, A_ROUND = 101, 20  # short turns, so that what else the machine does hits both alike


def played(dice: random.Random, *, vector: bool = False) -> Played:
    variant = dice.choice("ABC")
    speed, turn = 20 * MPH_MMPS * math.sqrt(dice.random()), dice.uniform(0, 2 * math.pi)
    parts = (Part("gain", "7-iron/plain", tuple(dice.randrange(999) / 128 for _ in range(14))),)
    return Played(
        hole_key=HOLE,
        line_key=f"{HOLE}/{variant}",
        variant=variant,
        holed=dice.random() < 0.1,
        miss_cm=(round(dice.gauss(30, 400)), round(dice.gauss(-20, 250))),
        wind_mmps=(round(speed * math.cos(turn)), round(speed * math.sin(turn))),
        club="7-iron",
        grade=dice.choice(("plain", "forged", "tour")),
        ball="soft",
        share=0.93,
        effect_cm=(-310, 220),
        parts=parts if vector else (),
    )


def keep_many(connection: Connection, dice: random.Random, start: int, stop: int) -> None:
    """What logging them one by one leaves, in one transaction."""
    shots = [played(dice) for _ in range(start, stop)]
    change = Change(HERE)
    change.add(shots, sign=1)
    change.apply(connection)
    rows: list[dict[str, object]] = [
        {
            "community_id": HERE,
            "member_id": 2**61 + number % 500,
            "author_name": "a member",
            "interaction_id": 2**50 + number,
            "attempt": number // 500 + 1,
            "edition": 0,
            "created_at": datetime(2031, 3, 9, tzinfo=UTC),
            **to_row(shot),
        }
        for number, shot in zip(range(start, stop), shots, strict=True)
    ]
    connection.execute(insert(results), rows)


async def seconds(call: Callable[[], Awaitable[object]]) -> float:
    start = time.perf_counter()
    await call()
    return time.perf_counter() - start


async def fill(db: Database, size: int) -> float:
    dice, start = random.Random(7), time.perf_counter()
    for at in range(0, size, BATCH):
        stop = min(at + BATCH, size)
        await db.write(lambda connection, at=at, stop=stop: keep_many(connection, dice, at, stop))
    return time.perf_counter() - start


def scan(connection: Connection) -> object:
    c = results.c
    query = (
        select(c.line_key, func.count(), func.sum(c.miss_long_cm), func.sum(c.miss_right_cm))
        .where(c.community_id == HERE, c.hole_key == HOLE, c.removed_at.is_(None))
        .group_by(c.line_key)
    )
    return connection.execute(query).all()


async def bench_query(directory: Path, sizes: tuple[int, ...]) -> float:
    doors = [await Database.open(f"sqlite:///{directory / str(size)}.db") for size in sizes]
    filled_s = [await fill(db, size) for db, size in zip(doors, sizes, strict=True)]
    times: list[list[float]] = [[] for _ in sizes]
    for _ in range(REPEATS):
        for db, into in zip(doors, times, strict=True):
            into.append(await seconds(lambda db=db: Tallies(db).of_hole(HERE, HOLE)))
    query_ms = [1000 * statistics.median(of_size) for of_size in times]
    print("results     cells  query ms   scan ms   filled in s")
    for at, (db, size) in enumerate(zip(doors, sizes, strict=True)):
        tally = await Tallies(db).of_hole(HERE, HOLE)
        assert sum(line.tries for line in tally.lines) == size
        assert sum(int(cells.tries.sum()) for cells in tally.cells) == size
        scan_ms = 1000 * min([await seconds(lambda db=db: db.read(scan)) for _ in range(3)])
        cells = sum(len(line.rows) for line in tally.cells)
        print(f"{size:9,d} {cells:7,d} {query_ms[at]:9.2f} {scan_ms:9.1f} {filled_s[at]:13.0f}")
        await db.close()
    return query_ms[-1] / query_ms[0]


async def bench_insert(directory: Path) -> float:
    for name in ("ours", "bare"):
        await (await Database.open(f"sqlite:///{directory / name}.db")).close()
    db = await Database.open(f"sqlite:///{directory / 'ours.db'}")
    kept, dice, number = Results(db), random.Random(11), 0
    ratios: list[float] = []
    rates: list[tuple[float, float]] = []
    async with aiosqlite.connect(directory / "bare.db") as bare:
        for pragma in WRITER_PRAGMAS:
            await bare.execute(pragma)
        for _ in range(ROUNDS):
            shots = [played(dice, vector=True) for _ in range(A_ROUND)]
            start = time.perf_counter()
            for shot in shots:
                number += 1
                logged = await kept.add(
                    HERE, shot, member_id=2**61, author_name="a member", interaction_id=number
                )
                assert logged.counted
            ours_s = time.perf_counter() - start
            rows = [bare_row(shot, number - A_ROUND + 1 + i) for i, shot in enumerate(shots)]
            statement = f"INSERT INTO results ({', '.join(rows[0])}) VALUES ({marks(rows[0])})"
            start = time.perf_counter()
            for row in rows:
                await bare.execute(statement, tuple(row.values()))
                await bare.commit()
            bare_s = time.perf_counter() - start
            ratios.append(bare_s / ours_s)
            rates.append((A_ROUND / ours_s, A_ROUND / bare_s))
    await db.close()
    ours, bare_rate = (statistics.median(rate[i] for rate in rates) for i in (0, 1))
    print(f"results kept one at a time: {ours:,.0f} a second; bare inserts: {bare_rate:,.0f}")
    return statistics.median(ratios)


def marks(row: dict[str, object]) -> str:
    return ", ".join("?" * len(row))


def bare_row(shot: Played, number: int) -> dict[str, object]:
    row = to_row(shot)
    row["parts"] = json.dumps(row["parts"])
    return {
        "community_id": HERE,
        "member_id": 2**61,
        "author_name": "a member",
        "interaction_id": number,
        "attempt": number,
        "edition": 0,
        "created_at": "2031-03-09 18:30:05.250000",
        **row,
    }


async def main(most: int) -> int:
    with tempfile.TemporaryDirectory() as directory:
        ratio = await bench_insert(Path(directory))
        print(f"insert throughput, ratio to bare: {ratio:.2f} (at least 0.2 is wanted)")
        growth = await bench_query(Path(directory), tuple(s for s in SIZES if s <= most))
        print(f"query time, last to first: {growth:.2f} (at most 2 is wanted)")
    return 0 if ratio >= 0.2 and growth <= 2 else 1


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="What the running sums cost and what they save.")
    parser.add_argument("--most", type=int, default=SIZES[-1], help="largest number of results")
    sys.exit(asyncio.run(main(parser.parse_args().most)))
